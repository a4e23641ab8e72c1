package session

import (
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// lifted is a standing start with a stretch without thrust.
func lifted(at, seconds float64) *TimedRun {
	r := &TimedRun{Kind: segment.StandingStart, MaxSpeed: 30, Lifts: []Lift{{Speed: at, Seconds: seconds}},
		Flags: []segment.Flag{{Code: segment.FlagLift, Text: "no thrust"}},
		Times: []timing.Time{{Name: "0-60 mph", From: timing.FromRest, End: 12, Flags: []string{segment.FlagLift}, Doubt: segment.FlagLift}}}
	r.count()
	return r
}

// What the sheet's shift time allows is a shift, and so is what most runs show alike; one
// foot that lifts is a lift.
func TestLiftsThatAreShifts(t *testing.T) {
	long := &sheet.Sheet{Vehicle: sheet.Vehicle{ShiftTime: 0.8}}
	for _, c := range []struct {
		name    string
		runs    []*TimedRun
		sheet   *sheet.Sheet
		counted int
	}{
		{"one lift", []*TimedRun{lifted(15, 1.1), {Kind: segment.StandingStart, MaxSpeed: 30}, {Kind: segment.StandingStart, MaxSpeed: 30}}, nil, 0},
		{"by the sheet", []*TimedRun{lifted(15, 1.1)}, long, 1},
		{"longer than the sheet's", []*TimedRun{lifted(15, 1.4)}, long, 0},
		{"alike in three", []*TimedRun{lifted(15, 1.1), lifted(15.4, 1.2), lifted(14.8, 1.0)}, nil, 3},
		{"at other speeds", []*TimedRun{lifted(12, 1.1), lifted(15.4, 1.2), lifted(19, 1.0)}, nil, 0},
		{"alike but long", []*TimedRun{lifted(15, 3), lifted(15, 3), lifted(15, 3)}, nil, 0},
	} {
		r := &Result{Runs: c.runs}
		r.shifts(c.sheet)
		n := 0
		for _, run := range c.runs {
			if run.Counted {
				n++
				if len(run.Flags) > 0 || run.Times[0].Doubt != "" || len(run.Times[0].Flags) > 0 {
					t.Errorf("%s: a shift is still called a lift: %+v", c.name, run)
				}
			}
		}
		if n != c.counted {
			t.Errorf("%s: %d counted, want %d", c.name, n, c.counted)
		}
	}
}
