package report

import (
	"io"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// TestFrontHoldsTheMeans holds the first page to the means of the session, and to what it
// says of runs that are left out.
func TestFrontHoldsTheMeans(t *testing.T) {
	res := sample()
	compared, err := res.Compare(CompareTargets(res))
	if err != nil {
		t.Fatal(err)
	}
	f := FrontOf(res, compared)
	if f.Answer == nil || f.Words.Decides != "At "+f.Words.Heads[f.Primary]+" "+OriginName(f.Origin)+", which decides." {
		t.Errorf("answer %v, %q", f.Answer, f.Words.Decides)
	}
	for k, name := range f.Targets {
		for i, from := range []timing.Origin{timing.FromRollout, timing.FromRest} {
			for j, m := range res.Means(res.Groups(), name, from) {
				if f.Modes[j].Times[k][i] != m {
					t.Errorf("%s %s of %s: %+v, want %+v", name, from, f.Modes[j].Name, f.Modes[j].Times[k][i], m)
				}
			}
		}
	}
	full := f.Modes[1]
	if full.N != 1 || full.Out != 1 || len(full.AtTarget) != 2 || full.AtTarget[1].Counts || !full.OneWay {
		t.Errorf("full: %+v", full)
	}
	if f.Ways != [2]string{"064°", "244°"} || f.Modes[0].AtTarget[1].Way != 1 {
		t.Errorf("ways %q", f.Ways)
	}
	for _, m := range f.Modes {
		for _, r := range m.AtTarget {
			if r.Time.Seconds < f.Scale.Lo || r.Time.Seconds > f.Scale.Hi {
				t.Errorf("%s is not on the scale %v to %v", r.ID, f.Scale.Lo, f.Scale.Hi)
			}
		}
	}
	if n := len(f.Scale.Ticks); n < 2 || n > mostTicks+1 {
		t.Errorf("%d ticks", n)
	}
}

// TestFrontOfLess checks the first page where there is little to show.
func TestFrontOfLess(t *testing.T) {
	one := sample()
	one.Runs = one.Runs[:2]
	f := FrontOf(one, nil)
	if f.Answer != nil || len(f.Modes) != 1 || f.Words.Decides != "" {
		t.Errorf("one mode: %+v", f)
	}
	if page := htmlOf(t, one, ""); !strings.Contains(page, "2 runs in 2 logs") || f.Words.Alone == "" || !strings.Contains(page, f.Words.Alone) {
		t.Error("the page of one mode does not say what there is")
	}
	none := &session.Result{Settings: one.Settings}
	if f := FrontOf(none, nil); len(f.Modes) != 0 || len(questions(none)) != 0 {
		t.Errorf("no run: %+v", f)
	}
	if page := htmlOf(t, none, ""); !strings.Contains(page, "No standing start reached a target.") {
		t.Error("the page without runs does not say so")
	}
}

// TestQuestions checks what a session leaves open.
func TestQuestions(t *testing.T) {
	res := sample()
	res.Runs[0].Mode, res.Logs[0].Mode = "", ""
	res.Failed = []*session.InputError{{Path: "x", Err: io.ErrUnexpectedEOF}}
	got := questions(res)
	want := []string{"1 log needs a mode", "1 log gave nothing", "1 run of full left out: do you agree?", "no session sheet: vehicle, place and conditions are not known"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
