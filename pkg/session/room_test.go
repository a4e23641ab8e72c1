package session

import (
	"context"
	"math"
	"slices"
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// constant is a run that gains speed at a, to v, and is braked at b: both ways are v²/2 over them.
func constant(mode string, a, b, v float64) *TimedRun {
	way := v * v / (2 * a)
	return &TimedRun{Mode: mode, Kind: segment.StandingStart, Counted: true, Log: &Log{},
		Times: []timing.Time{{Name: "0-60 mph", From: timing.FromRollout, Seconds: v / a, End: v / a, Distance: way - unit.Rollout, EndSpeed: v}},
		Halt:  Halt{Speed: v, Way: way + v*v/(2*b), After: v * v / (2 * b), End: v/a + v/b}}
}

func TestRoomInClosedForm(t *testing.T) {
	const v = 60 * unit.MPH
	res := &Result{Settings: Settings{Rows: []string{"0-60 mph"}}, Runs: []*TimedRun{constant("calm", 3, 6, v), constant("calm", 3, 8, v), constant("full", 4, 6, v)}}
	rooms := Rooms(res, &sheet.Plan{}, []string{"calm", "full", "plain"})
	stops := []float64{v * v / 12, v * v / 16}
	// Of two, the next is off by t(1)·s·√1.5.
	half := 12.706204736 * math.Abs(stops[0]-stops[1]) / math.Sqrt2 * math.Sqrt(1.5)
	want := v*v/6 + (stops[0]+stops[1])/2
	if r := rooms[0]; r.Target != "0-60 mph" || math.Abs(r.Distance+r.Stop-want) > 1e-9 || math.Abs(r.U95-half) > 1e-6 || math.Abs(r.Need()-(want+half+roomMargin)) > 1e-6 {
		t.Errorf("%+v, want %.2f ± %.2f m", r, want, half)
	}
	for _, r := range rooms[1:] { // one run shows no scatter, none shows nothing
		if r.Unknown == "" || !math.IsNaN(r.Need()) {
			t.Errorf("%+v is known", r)
		}
	}
	// What the tester enters stands in place of the stops, and a distance needs no run.
	entered := Rooms(res, &sheet.Plan{Stopping: 150, Margin: 40}, []string{"full"})[0]
	if !entered.Entered || math.Abs(entered.Need()-(v*v/8+190)) > 1e-9 {
		t.Errorf("%+v", entered)
	}
	far := Rooms(nil, &sheet.Plan{Stopping: 150, Target: "1/4 mile"}, []string{"full"})[0]
	if math.Abs(far.Need()-(unit.Mile/4+unit.Rollout+150+roomMargin)) > 1e-9 {
		t.Errorf("%+v", far)
	}
	if r := Rooms(nil, &sheet.Plan{Target: "1/4 mile"}, []string{"full"})[0]; r.Unknown == "" {
		t.Errorf("%+v is known", r)
	}
}

// What six runs say holds for the two after them by the simulated truth.
func TestRoomAgainstTheTruth(t *testing.T) {
	held, all := 0, 0
	for seed := range uint64(4) {
		in, truth := drivenFrom(t, 300+seed, 0, 0, 0, 0, false, true, false, true, false, true, false, true)
		res, err := Run(context.Background(), []Input{in}, Options{})
		if err != nil || len(res.Runs) != 8 {
			t.Fatal(err, len(res.Runs))
		}
		for _, r := range res.Runs {
			r.Mode = "van"
		}
		later := res.Runs[6:]
		res.Runs = res.Runs[:6]
		room := Rooms(res, &sheet.Plan{}, []string{"van"})[0]
		target, err := timing.ParseTarget(room.Target)
		if err != nil {
			t.Fatalf("%+v", room)
		}
		for k := range later {
			tr, m := truth.Starts()[6+k], &truth.Motion
			at := func(t float64) float64 { i, _ := slices.BinarySearch(m.T, t); return m.S[min(i, len(m.S)-1)] }
			var end float64
			var ok bool
			if target.IsDistance() {
				end, ok = target.Distance+unit.Rollout, true
			} else if sec, reached := tr.TimeToSpeed(target.To, false); reached {
				end, ok = at(tr.Launch+sec)-at(tr.Launch), true
			}
			if !ok {
				continue
			}
			// The highest speed is where the run ended; from there it coasted and braked.
			peak := tr.S[len(tr.S)-1]
			stop := at(tr.Braking.Start+tr.Braking.Seconds) - at(tr.Launch) - peak
			all++
			if math.Abs(end+stop-(room.Distance+room.Stop)) <= room.U95 {
				held++
			}
			if end+stop > room.Need() {
				t.Errorf("seed %d: %.0f m were taken, %.0f m asked for", seed, end+stop, room.Need())
			}
		}
	}
	if all < 6 || held < all-1 {
		t.Errorf("%d of %d within the interval", held, all)
	}
}
