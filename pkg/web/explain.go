package web

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/report"
	"fromrest/pkg/session/explain"
)

// explained makes an export of a writer of explanations.
func explained(f func(io.Writer, *explain.Explanation) error) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error {
		res := w.snapshot()
		if err := fewModes(res); err != nil {
			return err
		}
		e, err := explain.Of(w.s.ctx, res)
		if err != nil {
			return err
		}
		return f(out, e)
	}
}

func explainPage(out io.Writer, w *work) error {
	return explained(func(out io.Writer, e *explain.Explanation) error {
		return report.ExplainHTML(out, e, w.named())
	})(out, w)
}

// wheels answers which wheels push on a ground that the page's form describes:
// mode, and the wheels without grip and in the air as fl, fr, rl, rr. Nothing is
// kept.
func wheels(w http.ResponseWriter, r *http.Request, work *work) error {
	var b bytes.Buffer
	if err := work.wheels(&b, r.URL.Query()); err != nil {
		return &errEdit{err.Error()}
	}
	showPage(w, &b)
	return nil
}

func (w *work) wheels(out io.Writer, q map[string][]string) error {
	res := w.snapshot()
	modes := explain.ModesOf(res, explain.SheetOf(res))
	mode := cmp.Or(strings.Join(q["mode"], ""), modes[0])
	if !slices.Contains(modes, mode) {
		return fmt.Errorf("the session has no mode %q", strings.Map(plain, clean(mode, mostMode)))
	}
	bare, left := report.WheelSet(q["nogrip"])
	air, other := report.WheelSet(q["air"])
	if bad := slices.Concat(left, other); len(bad) > 0 {
		return fmt.Errorf("%q is no wheel: want fl, fr, rl or rr", strings.Map(plain, clean(bad[0], mostWheel)))
	}
	c, st, err := explain.Wheels(explain.SheetOf(res), mode, explain.Stand{Bare: bare, Air: air})
	if err != nil {
		return err
	}
	return report.WheelsHTML(out, "Which wheels push, mode "+mode, w.madeBy(), &c, st)
}

// plain leaves out what means something in markup: the message may be shown as a
// page.
func plain(r rune) rune {
	if strings.ContainsRune("<>&\"'", r) {
		return -1
	}
	return r
}
