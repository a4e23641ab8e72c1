package report

import (
	"errors"
	"fmt"
	"html/template"
	"strings"
	"unicode"
	"unicode/utf8"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// frontPage is a front as the report sets it.
type frontPage struct {
	*Front
	Verdict []string // sentences
	Second  string   // where they hold, and what else the runs say
	Flags   []string // what may pass for a difference
	Rows    []frontRow
	Beneath string // the table
	Axis    template.HTML
	Figure  template.HTML
	Beside  []document.Term // conditions, modes, what was left out, what is open, the method
}

// frontRow is a mode of the table.
type frontRow struct {
	Called, Says, Word string // Word is the class of its colour
	Key, Strip         template.HTML
	Runs, Out          string
	Cells              []template.HTML
}

func newFrontPage(res *session.Result, f *Front, marked bool) (frontPage, error) {
	p := frontPage{Front: f, Beneath: f.Words.Beneath}
	p.Verdict = said(f.Words.Alone)
	if a := f.Answer; a != nil {
		p.Verdict = each(a.Verdicts, wholeSentence)
		p.Second = strings.Join(append([]string{f.Words.Decides}, a.Notes...), " ")
		p.Flags = a.Warnings
	}
	o := figure.OptionsFor(res)
	p.rows(o, func(target string, from timing.Origin) string {
		if !marked {
			return ""
		}
		return quickest(res, target, from)
	})
	if marked {
		p.Beneath += " Bold: quicker than every other mode, as these runs show."
	}
	p.beside(res)
	drawn, err := f.figure(res, o)
	if err != nil {
		return p, err
	}
	p.Figure = template.HTML(drawn)
	return p, nil
}

// runsAndLogs is how much there is.
func runsAndLogs(res *session.Result) string {
	s := fmt.Sprintf("%s in %s", plural(len(res.Runs), "run"), plural(len(res.Logs), "log"))
	if n := len(only(res.Runs, notCounted)); n > 0 {
		s += fmt.Sprintf(", %d of them not counted", n)
	}
	return s + "."
}

// Span is how many columns of the table stand before the runs.
func (p frontPage) Span() int { return 2 + len(p.Targets) }

// rows sets the table of modes, with the mode that is best at a target in bold.
func (p *frontPage) rows(o figure.Options, best func(target string, from timing.Origin) string) {
	if len(p.Targets) == 0 {
		return
	}
	table := p.table()
	for k, name := range p.Targets {
		rollout, rest := best(name, timing.FromRollout), best(name, timing.FromRest)
		for i, m := range p.Modes {
			c := &table.Rows[i].Cells[k]
			c.Strong, c.Below.Strong = m.Name != "" && m.Name == rollout, m.Name != "" && m.Name == rest
		}
	}
	cells := table.CellsHTML()
	strip := func(series int, m *FrontMode) *figure.Strip {
		s := &figure.Strip{Lo: p.Scale.Lo, Hi: p.Scale.Hi, Ticks: p.Scale.Ticks, Series: series}
		if m != nil {
			s.Mean = p.AtPrimary(m)
			s.Runs = each(m.AtTarget, func(r FrontRun) figure.StripRun {
				return figure.StripRun{X: r.Time.Seconds, Counted: r.Counts, Way: r.Way}
			})
		}
		return s
	}
	p.Axis = template.HTML(strip(0, nil).StripAxis())
	for i := range p.Modes {
		m := &p.Modes[i]
		series := figure.NoSeries
		if len(m.Runs) > 0 {
			series = o.Series(m.Runs[:1])[0]
		}
		r := frontRow{Called: m.Called(), Says: m.Says, Word: "note", Key: template.HTML(figure.KeyLine(series)), Runs: fmt.Sprint(m.N)}
		if series >= 0 {
			r.Word = "fig-" + string(figure.Light().Word(series).Role)
		}
		if m.Out > 0 {
			r.Out = fmt.Sprintf("%d out", m.Out)
		}
		if m.OneWay {
			r.Out = strings.Join(said(r.Out, "one way only"), ", ")
		}
		words := fmt.Sprintf("%s: the mean with its interval, and %s to %s", m.Called(), plural(len(m.AtTarget), "run"), p.Words.Heads[p.Primary])
		r.Strip = template.HTML(strip(series, m).InlineSVG(words))
		for _, c := range cells[i] {
			r.Cells = append(r.Cells, template.HTML(c))
		}
		p.Rows = append(p.Rows, r)
	}
}

// figure is the main figure: runs thin, means bold, with the times of the table; "" where
// there is nothing to lay over each other.
func (f *Front) figure(res *session.Result, o figure.Options) (document.Markup, error) {
	starts := only(res.StandingStarts(), func(r *session.TimedRun) bool { return r.Trace.Len() > 1 })
	if len(starts) < 2 {
		return "", nil
	}
	o.Means, o.Times = true, f.meanTimes(res.Settings.Units)
	draw := func(o figure.Options) (*figure.Figure, error) {
		return figure.Overlay(starts, figure.OfSpeed, figure.ByTime, o)
	}
	drawn, err := twoWidths("overlay-wide", "overlay-narrow", o, draw)
	if errors.Is(err, figure.ErrNoMode) {
		o.Means = false
		drawn, err = twoWidths("overlay-wide", "overlay-narrow", o, draw)
	}
	return drawn, err
}

// meanTimes are the means with rollout that the table prints, for the figure.
func (f *Front) meanTimes(units string) []figure.MeanTime {
	var out []figure.MeanTime
	for k, name := range f.Targets {
		t, err := timing.ParseTarget(name)
		if err != nil || t.IsPull() {
			continue
		}
		for _, m := range f.Modes {
			q := m.Times[k][0]
			if q.N == 0 {
				continue
			}
			text, _ := document.Number(q.X, q.U95).Printed()
			out = append(out, figure.MeanTime{Mode: m.Name, Target: strings.TrimSuffix(f.Words.Heads[k], " "+unit.ShownIn(units).Speed), X: q.X, Speed: t.To, Text: text})
		}
	}
	return out
}

// beside are the lines that close the first page.
func (p *frontPage) beside(res *session.Result) {
	add := func(name, text string) { p.Beside = append(p.Beside, filled(document.Term{Name: name, Text: text})...) }
	sentences := func(parts []string) string {
		return strings.Join(each(parts, func(s string) string { return strings.TrimRight(s, ".?") + "." }), " ")
	}
	add("Conditions", firstUpper(HeadOf(res.Sheet).Conditions))
	if sh := res.Sheet; sh != nil {
		var modes []string
		for _, m := range sh.Modes {
			if m.Description != "" {
				modes = append(modes, m.Name+": "+m.Description)
			}
		}
		add("Modes", sentences(modes))
		add("Notes", sh.Notes)
	}
	add("Left out", sentences(leftOut(res)))
	add("Open", strings.Join(each(questions(res), func(s string) string {
		if s = firstUpper(s); strings.HasSuffix(s, "?") {
			return s
		}
		return s + "."
	}), " "))
	method := instrumentSentence(res)
	if p.Answer != nil {
		method += " " + p.Answer.Model
	}
	add("Method", method+" In full under Method.")
	add("Cautions", Cautions()[0]+" All of them under Cautions.")
}

// headLine is vehicle, mass, place and date, as far as they are known, and how much there is.
func headLine(res *session.Result) string {
	h := HeadOf(res.Sheet)
	return strings.Join(said(h.Vehicle, h.Mass, h.Place, h.Date, strings.TrimSuffix(runsAndLogs(res), ".")), " · ")
}

// firstUpper has a clause begin as a sentence.
func firstUpper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
