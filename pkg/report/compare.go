package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// CompareText writes a comparison for a terminal: for each target the modes, the
// differences and the sentences.
func CompareText(w io.Writer, c *compare.Result) error {
	var b strings.Builder
	for i, t := range c.Targets {
		if i > 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "%s, %s\n", t.Name, OriginName(timing.Origin(t.From)))
		b.WriteString(alignText(modeRows(t), "  "))
		b.WriteString("\n")
		b.WriteString(alignText(pairRows(t), "  "))
		for k := range t.Pairs {
			b.WriteString(wrap("- "+t.Pairs[k].Sentence, TextWidth, "  ") + "\n")
		}
		b.WriteString(wrap("  "+modelSentence(t), TextWidth, "  ") + "\n")
		for _, x := range t.Warnings {
			b.WriteString(wrap("! "+x, TextWidth, "  ") + "\n")
		}
	}
	b.WriteString("\n" + wrap(familyNote, TextWidth, "") + "\n")
	writeList(&b, "Warnings", c.Warnings)
	_, err := io.WriteString(w, b.String())
	return err
}

// familyNote says what the intervals and the verdicts promise.
const familyNote = "± is half of the 95 % interval: each holds the true value at least 95 times in 100. Of sessions of equal modes at most 5 in 100 lead to any claimed difference at a target, if the scatter is as stated. p is adjusted for all pairs of the target."

// CompareMarkdown writes a comparison as Markdown.
func CompareMarkdown(w io.Writer, c *compare.Result) error {
	var b strings.Builder
	for i, t := range c.Targets {
		if i > 0 {
			b.WriteString("\n")
		}
		fmt.Fprintf(&b, "**%s, %s**\n\n", escapeMarkdown(t.Name), OriginName(timing.Origin(t.From)))
		markdownRows(&b, modeRows(t))
		b.WriteString("\n")
		markdownRows(&b, pairRows(t))
		b.WriteString("\n")
		for k := range t.Pairs {
			b.WriteString("- " + escapeMarkdown(t.Pairs[k].Sentence) + "\n")
		}
		b.WriteString("\n" + escapeMarkdown(modelSentence(t)) + "\n")
		for _, x := range t.Warnings {
			b.WriteString("\n> " + escapeMarkdown(x) + "\n")
		}
	}
	b.WriteString("\n" + familyNote + "\n")
	for _, x := range c.Warnings {
		b.WriteString("\n> " + escapeMarkdown(x) + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// modeRows is the table of modes, a heading first.
func modeRows(t *compare.Target) [][]string {
	rows := [][]string{{"mode", "n", "mean, s", "sd, s", "best, s", "directions, s", "two-way, s"}}
	for _, m := range t.Modes {
		places := uncert.Places(m.U95, 3)
		sd := ""
		if !math.IsNaN(m.SD) {
			sd = uncert.RoundHalfUp(m.SD, places)
		}
		var ways []string
		for _, d := range m.Directions {
			ways = append(ways, fmt.Sprintf("%s %s (%d)", heading(d.Heading), uncert.RoundHalfUp(d.Mean, places), d.N))
		}
		rows = append(rows, []string{m.Name, fmt.Sprint(m.N), plusMinus(m.Mean, m.U95), sd, uncert.RoundHalfUp(m.Best, places),
			strings.Join(ways, ", "), plusMinus(m.TwoWay, m.TwoWayU95)})
	}
	return withoutEmpty(rows)
}

// pairRows is the table of differences, a heading first.
func pairRows(t *compare.Target) [][]string {
	rows := [][]string{{"difference", "s", "p", "Welch", "permutation", "verdict"}}
	for k := range t.Pairs {
		p := &t.Pairs[k]
		v := "not told apart"
		switch p.Verdict {
		case compare.AQuicker:
			v = p.A + " quicker"
		case compare.BQuicker:
			v = p.B + " quicker"
		}
		rows = append(rows, []string{p.A + " - " + p.B, plusMinus(p.Difference, p.Half()), pText(p.PAdjusted), pText(p.WelchHolm), pText(p.PermutationHolm), v})
	}
	return withoutEmpty(rows)
}

// modelSentence says what the differences were worked out with.
func modelSentence(t *compare.Target) string {
	m := &t.Model
	s := "Model: " + m.String() + "."
	if m.Scatter > 0 {
		s += fmt.Sprintf(" Scatter %s s from %s.", uncert.RoundHalfUp(m.Scatter, 3), m.ScatterFrom)
	}
	if !math.IsNaN(m.Direction) {
		s += " The other direction takes " + signed(m.Direction, m.DirectionU95) + " s."
	}
	if !math.IsNaN(m.Drift) {
		s += " Each further run takes " + signed(m.Drift, m.DriftU95) + " s."
	}
	for _, d := range m.Dropped {
		s += " Left out: " + d + "."
	}
	return s
}

func signed(x, u95 float64) string {
	v, h := uncert.Format(x, u95)
	if x > 0 {
		v = "+" + v
	}
	return v + " ± " + h
}

// plusMinus prints a value with its half-width, "" where there is none.
func plusMinus(x, u95 float64) string {
	if math.IsNaN(x) {
		return ""
	}
	v, h := uncert.Format(x, u95)
	if h == "" {
		return v
	}
	return v + " ±" + h
}

// pText prints a p value, small ones as a bound.
func pText(p float64) string {
	switch {
	case math.IsNaN(p):
		return ""
	case p < 0.001:
		return "<0.001"
	}
	return uncert.RoundHalfUp(p, 3)
}

// withoutEmpty leaves out columns that have nothing under their heading.
func withoutEmpty(rows [][]string) [][]string {
	out := make([][]string, len(rows))
	for c := range rows[0] {
		some := false
		for _, r := range rows[1:] {
			some = some || r[c] != ""
		}
		for i := range rows {
			if some {
				out[i] = append(out[i], rows[i][c])
			}
		}
	}
	return out
}

// alignText sets rows in columns, the first to the left and the others too.
func alignText(rows [][]string, indent string) string {
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for c, s := range r {
			widths[c] = max(widths[c], utf8.RuneCountInString(s))
		}
	}
	var b strings.Builder
	for _, r := range rows {
		line := indent
		for c, s := range r {
			line += s + strings.Repeat(" ", widths[c]-utf8.RuneCountInString(s)+columnGap)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

func markdownRows(b *strings.Builder, rows [][]string) {
	for i, r := range rows {
		for _, s := range r {
			b.WriteString("| " + escapeMarkdown(s) + " ")
		}
		b.WriteString("|\n")
		if i == 0 {
			b.WriteString("|:--" + strings.Repeat("|--:", len(r)-1) + "|\n")
		}
	}
}

// CompareTargets are the targets a reader is shown a comparison at: those of the
// headline table, and those added by the user. The JSON holds every target.
func CompareTargets(res *session.Result) []string {
	own := map[string]bool{}
	for _, t := range timing.Standard() {
		own[t.Name] = true
	}
	var added []string
	for _, n := range res.Settings.Targets {
		if !own[n] {
			added = append(added, n)
		}
	}
	out := headlineTargets(res, added)
	if len(out) == 0 {
		return nil
	}
	return out
}
