package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
	"fromrest/pkg/vehicle/driveline"
)

// sheetOf is the sheet that a result was made with, an empty one without.
func sheetOf(res *session.Result) *sheet.Sheet {
	if res.Sheet == nil {
		return &sheet.Sheet{}
	}
	return res.Sheet
}

// modesOf are the sheet's modes in its order, or else those of the runs.
func modesOf(res *session.Result) []string {
	modes := sheetOf(res).ModeNames()
	if len(modes) > 0 {
		return modes
	}
	for _, r := range res.Runs {
		if r.Mode != "" && !slices.Contains(modes, r.Mode) {
			modes = append(modes, r.Mode)
		}
	}
	if len(modes) == 0 {
		modes = []string{"as described"}
	}
	return modes
}

// explained makes an export of a writer of explanations.
func explained(f func(io.Writer, *explain.Explanation) error) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error {
		res := w.snapshot()
		if err := fewModes(res); err != nil {
			return err
		}
		e, err := explain.Of(w.s.ctx, res, sheetOf(res), modesOf(res), res.Settings.Units)
		if err != nil {
			return err
		}
		return f(out, e)
	}
}

func explainPage(out io.Writer, w *work) error {
	return explained(func(out io.Writer, e *explain.Explanation) error {
		return report.ExplainHTML(out, e, "Why the modes differ: "+w.named())
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
	modes := modesOf(res)
	mode := strings.Join(q["mode"], "")
	if mode == "" {
		mode = modes[0]
	}
	if !slices.Contains(modes, mode) {
		return fmt.Errorf("the session has no mode %q", strings.Map(plain, clean(mode, mostMode)))
	}
	bare, err := wheelSet(q["nogrip"])
	if err != nil {
		return err
	}
	air, err := wheelSet(q["air"])
	if err != nil {
		return err
	}
	c, st, err := explain.Wheels(sheetOf(res), mode, bare, air)
	if err != nil {
		return err
	}
	return report.WheelsHTML(out, "Which wheels push, mode "+mode, &c, st)
}

// wheelSet reads wheels named fl, fr, rl and rr.
func wheelSet(names []string) (out [driveline.Wheels]bool, err error) {
	for _, x := range names {
		k := slices.Index([]string{"fl", "fr", "rl", "rr"}, x)
		if k < 0 {
			return out, fmt.Errorf("%q is no wheel: want fl, fr, rl or rr", strings.Map(plain, clean(x, mostWheel)))
		}
		out[k] = true
	}
	return out, nil
}

// plain leaves out what means something in markup: the message may be shown as a
// page.
func plain(r rune) rune {
	if strings.ContainsRune("<>&\"'", r) {
		return -1
	}
	return r
}
