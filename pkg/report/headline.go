package report

import (
	"fmt"
	"slices"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// headlineTargets are the targets of the headline table that some run reached.
func headlineTargets(res *session.Result, more []string) []string {
	want := []string{"0-30 mph", "0-60 mph", "1/4 mile"}
	if res.Settings.Units == "kmh" {
		want = []string{"0-50 km/h", "0-100 km/h", "400 m"}
	}
	if res.Settings.Chosen {
		want = res.Settings.Rows
	}
	for _, name := range more {
		if !slices.Contains(want, name) {
			want = append(slices.Clip(want), name)
		}
	}
	return only(want, func(name string) bool {
		return slices.ContainsFunc(res.Runs, func(r *session.TimedRun) bool { return reached(r, name) })
	})
}

// reached reports whether a run was timed to a target with rollout.
func reached(r *session.TimedRun, name string) bool {
	_, ok := r.Time(name, timing.FromRollout)
	return ok
}

// headlineTable is the table at the top of a page: each group's runs and their
// mean, with rollout and beneath from rest. It is nil where no run reached a
// target.
func headlineTable(res *session.Result, more []string) *document.Table {
	targets := headlineTargets(res, more)
	if len(targets) == 0 {
		return nil
	}
	t := document.TableOf(document.Headline, "Headline table", append([]string{"run"}, targets...)...)
	groups := res.Groups()
	means := func(from timing.Origin) [][]session.Mean { // by target and group
		return each(targets, func(name string) []session.Mean { return res.Means(groups, name, from) })
	}
	rollout, rest := means(timing.FromRollout), means(timing.FromRest)
	for i, g := range groups {
		for _, r := range g.Runs {
			row := document.Row{Section: g.Called(), Name: r.ID, Note: unit.Heading(r.HeadingDeg), Unit: "s", Struck: !r.Counted}
			if !r.Counted {
				row.Note = reason(r)
			}
			row.Cells = each(targets, func(name string) document.Cell {
				c := runTable{Table: t}.doubted(r, name, timing.FromRollout)
				below, _ := timeCell(r, name, timing.FromRest)
				c.Below = &below
				return c
			})
			t.Rows = append(t.Rows, row)
		}
		if row, ok := meanRow(i, rollout, rest); ok {
			row.Section = g.Called()
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// meanRow is the means of a group's counted runs at each target, with rollout and
// from rest, if they are of two or more. The means are by target and group.
func meanRow(group int, rollout, rest [][]session.Mean) (document.Row, bool) {
	row := document.Row{Name: "mean", Unit: "s", Strong: true}
	var first session.Mean
	cell := func(m session.Mean) document.Cell {
		if m.N < 2 {
			return document.None()
		}
		if first.N == 0 {
			first = m
		}
		c := document.Number(m.X, m.U95)
		if m.N != first.N {
			c.Mark = fmt.Sprintf("n = %d", m.N)
		}
		return c
	}
	for k := range rollout {
		c, below := cell(rollout[k][group]), cell(rest[k][group])
		c.Below = &below
		row.Cells = append(row.Cells, c)
	}
	row.Note = fmt.Sprintf("n = %d", first.N)
	switch {
	case first.TwoWay:
		row.Name = "two-way mean"
	case first.OneWay:
		row.Note += ", one way only"
	}
	return row, first.N > 1
}
