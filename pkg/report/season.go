package report

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// How much a text says of each run or log; of more it is what RunsShort and CheckShort say.
const (
	MostRuns = 24 // of which the tables are some two screens
	MostLogs = 6  // of which check says some twenty lines each
	mostRows = 40 // of a table of means
	mostSaid = 12 // of groups of sentences, and lines of each kind
)

// RunsShort writes for a terminal what many runs come to: the means, what was left out and
// dropped, and what was warned of, each kind once with how often.
func RunsShort(w io.Writer, res *session.Result) error {
	doc := []document.Block{document.Lines{countLine(res)}}
	if t := meansInShort(res); t != nil {
		doc = append(doc, document.Heading{Text: "Means of the runs that count, with rollout, s"}, t)
		if n := len(res.Groups()); n > mostRows {
			doc = append(doc, document.Paragraph{Text: fmt.Sprintf("%d more are not shown.", n-mostRows), Layout: document.Layout{Close: true}})
		}
	}
	var left, flags []string
	for _, r := range res.StandingStarts() {
		if !r.Counted {
			left = append(left, r.ID+": "+reason(r))
		}
		for _, f := range r.Flags {
			flags = append(flags, fmt.Sprintf("%s, %s: %s", r.ID, f.Code, f.Text))
		}
	}
	like := newLikeness(res)
	doc = append(doc, headed("Left out", like.grouped(left))...)
	doc = append(doc, headed("Flags", like.grouped(flags))...)
	doc = append(doc, headed("Data dropped", droppedLines(res))...)
	doc = append(doc, headed("Warnings", like.grouped(res.Warnings))...)
	doc = append(doc, headed("Build-up of tractive force", like.grouped(each(res.Learned, learnedLine)))...)
	doc = append(doc, document.Paragraph{Text: halfNote + ". With rollout, time and distance count from the instant 1 ft (0.3048 m) has been covered. " +
		"--full prints every run, table the means at every target."})
	return document.Text(w, append(doc, madeBy(&res.Settings))...)
}

// countLine is what a result holds, in a line.
func countLine(res *session.Result) string {
	starts, left := res.StandingStarts(), 0
	for _, r := range starts {
		if !r.Counted {
			left++
		}
	}
	s := plural(len(res.Logs), "log") + ", " + plural(len(starts), "standing start")
	for _, kind := range []struct {
		kind segment.Kind
		name string
	}{{segment.Rolling, "rolling acceleration"}, {segment.Braking, "braking"}} {
		if n := len(only(res.Runs, func(r *session.TimedRun) bool { return r.Kind == kind.kind })); n > 0 {
			s += ", " + plural(n, kind.name)
		}
	}
	if left > 0 {
		s += fmt.Sprintf("; %d do not count", left)
	}
	return s
}

// meansInShort is a row for each mode: how many runs count, and the means at the headline
// targets. It is nil where there are none.
func meansInShort(res *session.Result) *document.Table {
	targets, groups := headlineTargets(res, nil), res.Groups()
	if len(targets) == 0 || len(groups) == 0 {
		return nil
	}
	t := document.TableOf(document.Summary, "", append([]string{"", "runs"}, targets...)...)
	means := each(targets, func(name string) []session.Mean { return res.Means(groups, name, timing.FromRollout) })
	for i, g := range groups[:min(len(groups), mostRows)] {
		row := document.Row{Name: g.Called(), Cells: []document.Cell{document.Count(g.Counted())}}
		for k := range targets {
			c := document.None()
			if m := means[k][i]; m.N > 0 {
				c = document.Number(m.X, m.U95)
			}
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// droppedLines says for each kind of damage how many records of how many logs it cost, and
// where it is first.
func droppedLines(res *session.Result) []string {
	type damage struct {
		text          string
		records, logs int
	}
	var kinds []string
	of := map[string]*damage{}
	for _, l := range res.Logs {
		if l.Problems == nil {
			continue
		}
		for _, g := range l.Problems.Groups() {
			if g.Effect != diag.Dropped {
				continue
			}
			d := of[g.Kind]
			if d == nil {
				d = &damage{text: l.Path + ", " + g.First().Place() + ": " + g.First().Text}
				of[g.Kind], kinds = d, append(kinds, g.Kind)
			}
			d.records, d.logs = d.records+g.Count, d.logs+1
		}
	}
	return each(kinds, func(k string) string {
		return fmt.Sprintf("%s of %s, first %s", plural(of[k].records, "record"), plural(of[k].logs, "log"), of[k].text)
	})
}

// likeness tells sentences that differ in names and numbers alone.
type likeness struct{ names *strings.Replacer }

// newLikeness knows the names of a result's logs and runs.
func newLikeness(res *session.Result) likeness {
	var names []string
	for _, l := range res.Logs {
		names = append(names, l.Path, l.Name)
	}
	for _, r := range res.Runs {
		names = append(names, r.ID)
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) }) // a longer name before what it begins with
	var pairs []string
	for _, n := range names {
		if n != "" {
			pairs = append(pairs, n, "\x00")
		}
	}
	return likeness{strings.NewReplacer(pairs...)}
}

var digit = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?`)

// grouped is the first of each kind of sentence, with how many more are like it.
func (l likeness) grouped(all []string) []string {
	var out, keys []string
	n := map[string]int{}
	for _, s := range all {
		key := digit.ReplaceAllString(l.names.Replace(s), "0")
		if n[key]++; n[key] == 1 {
			out, keys = append(out, s), append(keys, key)
		}
	}
	for i, key := range keys {
		if more := n[key] - 1; more > 0 {
			out[i] += fmt.Sprintf(" (and %d more like it)", more)
		}
	}
	if more := len(out) - mostSaid; more > 1 {
		out = append(out[:mostSaid:mostSaid], fmt.Sprintf("%d more; --full prints all", more))
	}
	return out
}

// CheckShort writes for a terminal how good many logs are, a line each, and each kind of
// problem and advice once with how often.
func CheckShort(w io.Writer, res *session.Result) error {
	t := document.TableOf(document.Summary, "", "", "Hz", "gaps", "noise, m/s", "dropped", "0-60 mph, ±, s")
	like := newLikeness(res)
	var problems, advice []string
	for _, l := range res.Logs {
		q, j := &l.Quality, worth(l)
		dropped := 0
		if l.Problems != nil {
			dropped = l.Problems.Count(diag.Dropped)
		}
		noise, half := "", ""
		if q.SpeedNoise > 0 {
			noise = figures(q.SpeedNoise, 2)
		}
		for _, e := range j.Expected {
			if e.Name == "0-60 mph" && e.From == timing.FromRollout {
				half = figures(e.U95, 2)
			}
		}
		t.Rows = append(t.Rows, document.Row{Name: l.Path, Cells: []document.Cell{document.Words(trimZeros(q.Rate, 1)), document.Count(q.Gaps),
			document.Words(noise), document.Count(dropped), document.Words(half)}})
		problems = append(problems, each(problemLines(l), func(s string) string { return l.Name + ": " + s })...)
		advice = append(advice, each(j.Advice, func(s string) string { return l.Name + ": " + s })...)
	}
	doc := []document.Block{document.Lines{countLine(res)}}
	doc = append(doc, headed("Problems", like.grouped(problems))...)
	doc = append(doc, headed("Advice", like.grouped(advice))...)
	doc = append(doc, document.Heading{Text: "Logs"}, t, document.Paragraph{Text: fmt.Sprintf("The last column is the half-width to which 0-60 mph with rollout would be known with a log like this, %s times in 100. --full says all of each log.",
		uncert.RoundHalfUp(100*uncert.Level, 0))})
	doc = append(doc, outsideBlocks(res)...)
	return document.Text(w, append(doc, madeBy(&res.Settings))...)
}
