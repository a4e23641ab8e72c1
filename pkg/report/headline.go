package report

import (
	"fmt"
	"math"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// headlineTargets are the targets of the headline table that some run reached.
func headlineTargets(res *session.Result, more []string) []string {
	want := []string{"0-30 mph", "0-60 mph", "1/4 mile"}
	if res.Settings.Units == "kmh" {
		want = []string{"60 ft", "0-100 km/h", "1/4 mile"}
	}
	var out []string
	for _, name := range append(want, more...) {
		for _, r := range res.Runs {
			if _, ok := r.Time(name, timing.FromRollout); ok {
				out = append(out, name)
				break
			}
		}
	}
	return out
}

// headline is the table at the top: each group's runs and their mean.
type headline struct {
	Targets []string
	Groups  []headlineGroup
}

type headlineGroup struct {
	Name string
	Rows []headlineRow
}

type headlineRow struct {
	Name, Note string
	Mean       bool
	Struck     bool
	Cells      []headlineCell
}

type headlineCell struct{ Rollout, Rest cellView }

func newHeadline(res *session.Result, more []string) *headline {
	h := &headline{Targets: headlineTargets(res, more)}
	if len(h.Targets) == 0 {
		return nil
	}
	var starts []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.StandingStart {
			starts = append(starts, r)
		}
	}
	groups := session.Groups(starts)
	var all []means
	for _, t := range h.Targets {
		all = append(all, means{session.Means(groups, t, timing.FromRollout), session.Means(groups, t, timing.FromRest)})
	}
	for i, g := range groups {
		hg := headlineGroup{Name: g.Name}
		for _, r := range g.Runs {
			row := headlineRow{Name: r.ID, Note: heading(r.HeadingDeg), Struck: !r.Counted}
			if !r.Counted {
				row.Note = reason(r)
			}
			for _, t := range h.Targets {
				row.Cells = append(row.Cells, headlineCell{
					timeView(r, t, timing.FromRollout), timeView(r, t, timing.FromRest)})
			}
			hg.Rows = append(hg.Rows, row)
		}
		if row, ok := meanRow(i, all); ok {
			hg.Rows = append(hg.Rows, row)
		}
		h.Groups = append(h.Groups, hg)
	}
	h.align()
	return h
}

func timeView(r *session.TimedRun, target string, from timing.Origin) cellView {
	t, ok := r.Time(target, from)
	if !ok || math.IsNaN(t.Seconds) {
		return cellView{}
	}
	v, h := Cell{X: t.Seconds, U95: t.U95}.Printed()
	return cellView{Value: v, Half: h, Struck: !r.Counted}
}

// means are, for each target, the means of all groups from both origins.
type means struct{ rollout, rest []session.Mean }

// meanRow is the mean of a group's counted runs, if there are two or more.
func meanRow(group int, all []means) (headlineRow, bool) {
	row := headlineRow{Name: "mean", Mean: true}
	var first session.Mean
	for _, m := range all {
		var c headlineCell
		for _, v := range []struct {
			m  session.Mean
			to *cellView
		}{{m.rollout[group], &c.Rollout}, {m.rest[group], &c.Rest}} {
			if v.m.N < 2 {
				continue
			}
			v.to.Value, v.to.Half = Cell{X: v.m.X, U95: v.m.U95}.Printed()
			if first.N == 0 {
				first = v.m
			}
			if v.m.N != first.N {
				v.to.Notes = []string{fmt.Sprintf("n = %d", v.m.N)}
			}
		}
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

// align lines each target's numbers up on their points.
func (h *headline) align() {
	for i := range h.Targets {
		var roll, rest []*cellView
		for g := range h.Groups {
			for r := range h.Groups[g].Rows {
				c := &h.Groups[g].Rows[r].Cells[i]
				if c.Rollout.Value != "" {
					roll = append(roll, &c.Rollout)
				}
				if c.Rest.Value != "" {
					rest = append(rest, &c.Rest)
				}
			}
		}
		alignPoint(roll)
		alignPoint(rest)
	}
}
