package web

import (
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/unit"
)

// daysView is a session and another one, as a rule of the same vehicle on another day.
type daysView struct {
	Why      string            `json:"why"`     // why they cannot be held against each other
	Pending  int               `json:"pending"` // logs of the other that are still to be read
	Dates    [2]string         `json:"dates"`   // of the days, the first of them first
	Answer   *answerView       `json:"answer"`  // of both together, with a term for the day
	Modes    []compareModeView `json:"modes"`   // of both together, where that decides
	Warnings []string          `json:"warnings"`
	Place    string            `json:"place"`
	Days     []dayView         `json:"days"` // each mode that both drove, day against day
}

// dayView is a mode on one day and on the other.
type dayView struct {
	Mode       string             `json:"mode"`
	On         [2]compareModeView `json:"on"`
	Difference numView            `json:"difference"` // the first less the second
	Why        string             `json:"why"`        // what makes of it no difference of the vehicle's
}

// days holds the session against the one that with names.
func days(r *http.Request, w *work) (any, error) {
	id := r.URL.Query().Get("with")
	if id == w.id {
		return nil, &errEdit{"a session is not held against itself"}
	}
	other, err := w.s.work(r.Context(), id)
	if err != nil {
		return nil, err
	}
	v := daysView{Modes: []compareModeView{}, Warnings: []string{}, Days: []dayView{}}
	other.mu.Lock()
	v.Pending = other.pending()
	other.mu.Unlock()
	if v.Pending > 0 {
		return v, nil
	}
	if err := v.compare(w.snapshot(), other.snapshot()); err != nil {
		v.Why = err.Error()
	}
	return v, nil
}

func (v *daysView) compare(a, b *session.Result) error {
	both, err := session.Together(a, b)
	if err == nil {
		err = fewModes(both)
	}
	if err != nil {
		return err
	}
	name, from, _ := both.Primary()
	v.Place = unit.Printed(name + " " + report.OriginName(from))
	if c, err := both.Compare(report.CompareTargets(both)); err == nil {
		if answer := report.AnswerOf(c); answer != nil {
			v.Answer, v.Modes = viewAnswer(answer), each(c.Primary.Modes, viewMode)
		}
		v.Warnings = each(append(c.Warnings, both.Warnings...), unit.Printed)
	}
	return v.dayByDay(a, b, name, from)
}

// dayByDay holds each mode's days against each other.
func (v *daysView) dayByDay(a, b *session.Result, name string, from timing.Origin) error {
	apart, err := session.DayByDay(a, b)
	if err != nil {
		return err
	}
	t := apart.At(name, from)
	if t == nil {
		return nil
	}
	mode := func(label string) compareModeView {
		i := slices.IndexFunc(t.Modes, func(m compare.Mode) bool { return m.Name == label })
		return viewMode(t.Modes[i])
	}
	for _, p := range t.Pairs {
		m := strings.LastIndex(p.A, ", ")
		n := strings.LastIndex(p.B, ", ")
		if m < 0 || n < 0 || p.A[:m] != p.B[:n] {
			continue
		}
		v.Days = append(v.Days, dayView{p.A[:m], [2]compareModeView{mode(p.A), mode(p.B)}, formatted(p.Difference, p.Half()), p.Why})
		v.Dates = [2]string{p.A[m+2:], p.B[n+2:]}
	}
	return nil
}
