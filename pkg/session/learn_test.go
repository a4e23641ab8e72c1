package session

import (
	"math"
	"slices"
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
)

func timed(ends ...float64) *TimedRun {
	r := &TimedRun{Kind: segment.StandingStart}
	for i, name := range []string{"0-30 mph", "0-60 mph", "0-100 mph"} {
		for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
			r.Times = append(r.Times, timing.Time{Name: name, From: from, Seconds: ends[i], U95: .1, End: ends[i]})
		}
	}
	return r
}

// A flag spoils the times that end after it and no others; before the first time it
// spoils the run.
func TestTimesCountUpToAFlag(t *testing.T) {
	for _, c := range []struct {
		code    string
		begin   float64
		counted []string
		run     bool
	}{
		{segment.FlagLift, 5, []string{"0-30 mph"}, true}, {segment.FlagTurn, 9, []string{"0-30 mph", "0-60 mph"}, true},
		{segment.FlagTurn, 1, nil, false}, {segment.FlagLift, 20, []string{"0-30 mph", "0-60 mph", "0-100 mph"}, true},
		{segment.FlagOutlier, 1, []string{"0-30 mph", "0-60 mph", "0-100 mph"}, true},
	} {
		r := timed(3, 8, 16)
		f := segment.TimedFlag{Flag: segment.Flag{Code: c.code, Text: "it did"}, Begin: 100 + c.begin, End: 101 + c.begin}
		for i := range r.Times {
			touch(&r.Times[i], &f, 100, true)
		}
		r.Flags = []segment.Flag{f.Flag}
		r.count()
		var got []string
		for i := range r.Times {
			x := &r.Times[i]
			if r.Counts(x) && x.From == timing.FromRollout {
				got = append(got, x.Name)
			}
			if want := c.begin < x.End; slices.Contains(x.Flags, c.code) != want {
				t.Errorf("%s at %g: %s has flags %v", c.code, c.begin, x.Name, x.Flags)
			}
		}
		if r.Counted != c.run || !slices.Equal(got, c.counted) {
			t.Errorf("%s at %g: run %v, counted %v, want %v %v", c.code, c.begin, r.Counted, got, c.run, c.counted)
		}
	}
}

func TestTimesLeftOutByTheSheet(t *testing.T) {
	r := timed(3, 8, 16)
	r.count()
	old := r.Times
	r.leaveOut("0-60 mph", "a gust")
	for i := range r.Times {
		x := &r.Times[i]
		if r.Counts(x) != (x.Name == "0-30 mph") || old[i].Doubt != "" {
			t.Errorf("%s counts %v, %q before", x.Name, r.Counts(x), old[i].Doubt)
		}
	}
}

// The demo's van is launched alike in its two directions: what two logs of a mode teach
// each other narrows both, and the instants of the launch move with the times.
func TestLaunchesTeachEachOther(t *testing.T) {
	if testing.Short() {
		t.Skip("times the demo")
	}
	in := season(t)
	res := mustRun(t, in, Options{})
	var alone, together float64
	for _, r := range res.StandingStarts() {
		l := r.Launches
		own := make([]float64, len(l.Paths))
		for i, p := range l.Paths {
			own[i] = p.Weight
		}
		for k := range l.Cells {
			c := &l.Cells[k]
			got, ok := r.Time(c.Name, c.From)
			if c.Name != "0-30 mph" || c.From != timing.FromRest || !ok {
				continue
			}
			_, u := l.Time(c, own)
			alone, together = alone+u, together+got.U95
			if !(got.Common > 0 && got.Common < got.U95) {
				t.Errorf("%s: shares %g of ±%g", r.ID, got.Common, got.U95)
			}
			at := got.End - l.Launch(own).X
			if math.Abs(got.Seconds-at) > 0.02 {
				t.Errorf("%s: %.3f s from rest, ends %.3f s after the launch", r.ID, got.Seconds, at)
			}
		}
	}
	if len(res.Learned) == 0 || !(together < alone) {
		t.Errorf("learned %v: half-widths %.3f together, %.3f alone", res.Learned, together, alone)
	}
}
