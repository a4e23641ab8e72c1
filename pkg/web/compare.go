package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"

	"fromrest/pkg/archive"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

type compareView struct {
	Why      string              `json:"why"`     // why nothing can be compared
	Answer   *answerView         `json:"answer"`  // null where no target decides
	Primary  string              `json:"primary"` // name and origin of the one that does, as in targets
	Targets  []compareTargetView `json:"targets"`
	Warnings []string            `json:"warnings"`
}

type answerView struct {
	Place    string   `json:"place"`
	Verdicts []string `json:"verdicts"`
	Warnings []string `json:"warnings"`
	Notes    []string `json:"notes"`
	Model    string   `json:"model"`
}

type compareTargetView struct {
	Name     string            `json:"name"`
	From     string            `json:"from"`
	Modes    []compareModeView `json:"modes"`
	Pairs    []comparePairView `json:"pairs"`
	Runs     []compareRunView  `json:"runs"`
	Warnings []string          `json:"warnings"`
}

type compareModeView struct {
	Name   string  `json:"name"`
	N      int     `json:"n"`
	Left   int     `json:"left"`
	Mean   numView `json:"mean"`
	SD     string  `json:"sd"`
	Best   string  `json:"best"`
	TwoWay numView `json:"twoway"`
	X      number  `json:"x"`   // s, the mean, for the figure
	U95    number  `json:"u95"` // s
}

type comparePairView struct {
	A          string  `json:"a"`
	B          string  `json:"b"`
	Difference numView `json:"difference"`
	Verdict    string  `json:"verdict"`
}

type compareRunView struct {
	ID      string `json:"id"`
	Mode    string `json:"mode"`
	X       number `json:"x"`   // s
	U95     number `json:"u95"` // s
	Counted bool   `json:"counted"`
}

// comparison is the modes of a session against each other.
func comparison(r *http.Request, w *work) (any, error) {
	res, err := w.compared(everyTarget)
	if err != nil {
		return compareView{Why: err.Error(), Targets: []compareTargetView{}, Warnings: []string{}}, nil
	}
	if bodies, err := w.s.arch.Newest(r.Context(), w.id, archive.MostPast); err == nil {
		if line := report.Offer(w.snapshot(), bodies); line != "" {
			res.Offered = append(res.Offered, line)
		}
	}
	v := compareView{Targets: each(res.Targets, viewTarget), Warnings: list(res.Warnings)}
	if a := report.AnswerOf(res); a != nil {
		v.Answer = viewAnswer(a)
		v.Primary = res.Primary.Name + "|" + res.Primary.From
	}
	return v, nil
}

// viewAnswer is an answer as it is printed.
func viewAnswer(a *report.Answer) *answerView {
	return &answerView{unit.Printed(a.Place), each(a.Verdicts, unit.Printed), each(a.Warnings, unit.Printed), each(a.Notes, unit.Printed), a.Model}
}

// fewModes refuses more modes than can be shown, such as a season of logs of
// which no mode was named, each of which would stand for one.
func fewModes(res *session.Result) error {
	modes, logs := map[string]bool{}, map[*session.Log]bool{}
	for _, r := range res.Runs {
		modes[r.Mode], logs[r.Log] = true, true
	}
	switch n := len(modes); {
	case n == 1 && modes[""] && len(logs) > maxModes:
		return errors.New("say which modes the runs were driven in, and they are compared here")
	case n > maxModes:
		return fmt.Errorf("the runs are of %d modes; at most %d are compared here", n, maxModes)
	}
	return nil
}

// compared is the comparison of the present result, at some targets or at all.
func (w *work) compared(targets func(*session.Result) []string) (*compare.Result, error) {
	res := w.snapshot()
	if err := fewModes(res); err != nil {
		return nil, err
	}
	return res.Compare(targets(res))
}

// everyTarget is for a comparison at all of them.
func everyTarget(*session.Result) []string { return nil }

func viewTarget(t *compare.Target) compareTargetView {
	v := compareTargetView{Name: t.Name, From: t.From, Modes: each(t.Modes, viewMode), Warnings: list(t.Warnings)}
	v.Pairs = each(t.Pairs, func(p compare.Pair) comparePairView {
		return comparePairView{A: p.A, B: p.B, Difference: formatted(p.Difference, p.Half()), Verdict: string(p.Verdict)}
	})
	v.Runs = each(t.Runs, func(r compare.Run) compareRunView {
		return compareRunView{r.ID, r.Mode, number(r.Seconds), number(uncert.Z95 * math.Hypot(r.U, r.Shared)), r.Counted}
	})
	return v
}

func viewMode(m compare.Mode) compareModeView {
	c := compareModeView{Name: m.Name, N: m.N, Left: m.Left, X: number(m.Mean), U95: number(m.U95)}
	if m.N > 0 {
		c.Mean = formatted(m.Mean, m.U95)
		c.Best = uncert.RoundHalfUp(m.Best, uncert.Places(m.U95, 3))
		c.TwoWay = formatted(m.TwoWay, m.TwoWayU95)
	}
	if !math.IsNaN(m.SD) {
		c.SD = uncert.RoundHalfUp(m.SD, uncert.Places(m.U95, 3))
	}
	return c
}

func formatted(x, u95 float64) (n numView) {
	if !math.IsNaN(x) {
		n.Value, n.Half = uncert.Format(x, u95)
	}
	return n
}
