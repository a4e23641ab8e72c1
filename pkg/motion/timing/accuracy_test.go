package timing_test

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

var accuracyRuns = flag.Int("accuracy.runs", 0, "runs a receiver in the full accuracy trial; 0 for the short one")

// simulate makes one run of a vehicle seen by a receiver.
func simulate(v synth.Vehicle, rx synth.Receiver, seed uint64) (*synth.Truth, *recording.Track, float64) {
	rng := rand.New(rand.NewPCG(seed, 77))
	tr, err := synth.SimulateRun(rng, v, synth.Road{}, synth.Variation{Power: 0.02})
	if err != nil {
		panic(err)
	}
	// The launch falls anywhere between two samples.
	s := synth.Single(tr, 360*rng.Float64(), 3+4*rng.Float64())
	return tr, s.Track(rx, seed), s.Runs[0].Launch
}

// firstRun segments a track and measures its first standing start.
func firstRun(tr *recording.Track, targets []timing.Target) (*estimate.Estimate, timing.Result, error) {
	s, err := estimate.Prepare(tr)
	if err != nil {
		return nil, timing.Result{}, err
	}
	for _, sg := range segment.Find(s.SegmentInput()) {
		if sg.Kind != segment.StandingStart {
			continue
		}
		e, err := s.Run(context.Background(), estimate.Window{From: sg.From, To: sg.To, Moving: sg.Moving, Standing: true})
		if err != nil {
			return nil, timing.Result{}, err
		}
		return e, timing.Measure(e, targets), nil
	}
	return nil, timing.Result{}, fmt.Errorf("no run found")
}

// tally is the errors of one quantity.
type tally struct {
	n, in   int
	sum, sq float64
	naive   float64
	width   float64
}

func (t *tally) add(err, u95 float64) {
	t.n++
	t.sum += err
	t.sq += err * err
	t.width += u95
	if math.Abs(err) <= u95 {
		t.in++
	}
}

func (t *tally) String() string {
	n := float64(t.n)
	return fmt.Sprintf("n %4d bias %6.1f rms %6.1f ms cover %5.1f %% mean U95 %6.1f naive %6.1f", t.n, 1e3*t.sum/n, 1e3*math.Sqrt(t.sq/n), 100*float64(t.in)/n, 1e3*t.width/n, 1e3*math.Sqrt(t.naive/n))
}

var accuracyTargets = []string{"0-10 mph", "0-30 mph", "0-60 mph", "60 ft", "1/4 mile"}

func trial(t testing.TB, rx synth.Receiver, vehicles []synth.Vehicle, n int) map[string]*tally {
	out := map[string]*tally{}
	var targets []timing.Target
	for _, name := range accuracyTargets {
		tg, err := timing.ParseTarget(name)
		if err != nil {
			t.Fatal(err)
		}
		targets = append(targets, tg)
		for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
			out[name+" "+string(from)] = &tally{}
		}
	}
	var mu sync.Mutex
	var wg sync.WaitGroup
	for part := range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := part; i < n; i += 2 {
				v := vehicles[i%len(vehicles)]
				// The trial asks the same of every vehicle: thrust builds up over
				// 40 to 250 ms.
				v.BuildMin, v.BuildMax = 0.04, 0.25
				truth, track, launch := simulate(v, rx, uint64(i)+1)
				_, res, err := firstRun(track, targets)
				if err != nil {
					t.Errorf("run %d (%s): %v", i, v.Name, err)
					continue
				}
				mu.Lock()
				for _, m := range res.Times {
					want, ok := trueTime(truth, m)
					if ok {
						ta := out[m.Name+" "+string(m.From)]
						ta.add(m.Seconds-want, m.U95)
						if nv, ok := naive(track, launch, m); ok {
							ta.naive += (nv - want) * (nv - want)
						}
					}
				}
				mu.Unlock()
			}
		}()
	}
	wg.Wait()
	return out
}

func trueTime(tr *synth.Truth, m timing.Time) (float64, bool) {
	tg, _ := timing.ParseTarget(m.Name)
	if tg.IsDistance() {
		return tr.TimeToDistance(tg.Distance, m.From == timing.FromRollout)
	}
	return tr.TimeToSpeed(tg.To, m.From == timing.FromRollout)
}

// naive is the spreadsheet way: from the last sample that looks still, by
// straight lines between samples and trapezia for distance.
func naive(track *recording.Track, launch float64, m timing.Time) (float64, bool) {
	tg, _ := timing.ParseTarget(m.Name)
	t0, s := math.NaN(), 0.0
	roll := math.NaN()
	pt, pv := 0.0, 0.0
	for i := range track.Len() {
		t := track.TimeAt(i).Sub(track.TimeAt(0)).Seconds()
		v := track.Value(recording.Speed, i)
		if math.IsNaN(v) {
			v = 0
		}
		if t < launch+2 && v < 0.3 {
			t0, s, roll = t, 0, math.NaN()
			pt, pv = t, 0
			continue
		}
		if t < launch-1 {
			continue
		}
		ds := (t - pt) * (v + pv) / 2
		from, d := t0, tg.Distance
		if m.From == timing.FromRollout {
			if math.IsNaN(roll) && s+ds >= unit.Rollout {
				roll = pt + (t-pt)*(unit.Rollout-s)/ds
			}
			from, d = roll, d+unit.Rollout
		}
		if tg.IsDistance() && s+ds >= d {
			return pt + (t-pt)*(d-s)/ds - from, true
		}
		if !tg.IsDistance() && v >= tg.To {
			return pt + (t-pt)*(tg.To-pv)/(v-pv) - from, true
		}
		s += ds
		pt, pv = t, v
	}
	return 0, false
}

// receivers are the trial's, from what a phone gives to what a test team buys.
var receivers = []struct {
	name string
	rx   synth.Receiver
}{
	{"1 Hz 0.05", synth.Receiver{Rate: 1, Noise: 0.05, NoPosition: true}},
	{"5 Hz 0.05", synth.Receiver{Rate: 5, Noise: 0.05, NoPosition: true}},
	{"10 Hz 0.02", synth.Receiver{Rate: 10, Noise: 0.02, NoPosition: true}},
	{"10 Hz 0.05", synth.Receiver{Rate: 10, Noise: 0.05, NoPosition: true}},
	{"10 Hz 0.1", synth.Receiver{Rate: 10, Noise: 0.1, NoPosition: true}},
	{"20 Hz 0.05", synth.Receiver{Rate: 20, Noise: 0.05, NoPosition: true}},
	{"25 Hz 0.02", synth.Receiver{Rate: 25, Noise: 0.02, NoPosition: true}},
	{"10 Hz hold", synth.Receiver{Rate: 10, Noise: 0.05, Hold: 0.3, NoPosition: true}},
	{"10 Hz 0.1kn", synth.Receiver{Rate: 10, Noise: 0.03, Step: 0.1 * unit.Knot, NoPosition: true}},
	{"10 Hz 1km/h", synth.Receiver{Rate: 10, Noise: 0.03, Step: unit.KMH, Unit: unit.KMH, NoPosition: true}},
	{"10 Hz outl.", synth.Receiver{Rate: 10, Noise: 0.05, Outliers: 0.01, NoPosition: true}},
	{"10 Hz drops", synth.Receiver{Rate: 10, Noise: 0.05, DropOuts: 6, DropOutFor: 1, NoPosition: true}},
	{"10 Hz nocrs", synth.Receiver{Rate: 10, Noise: 0.05, CourseFrom: 1, NoPosition: true}},
	{"10 Hz white", synth.Receiver{Rate: 10, Noise: 0.05, Correlation: -1, NoPosition: true}},
	{"10 Hz rho.7", synth.Receiver{Rate: 10, Noise: 0.05, Correlation: 0.7, NoPosition: true}},
	{"10 Hz jittr", synth.Receiver{Rate: 10, Noise: 0.05, Jitter: 0.01, NoPosition: true}},
	{"10 Hz stamp", synth.Receiver{Rate: 10, Noise: 0.05, StampError: 0.01, NoPosition: true}},
}

var (
	accuracyOnly = flag.String("accuracy.only", "", "receivers whose name contains this")
	accuracyDoc  = flag.String("accuracy.doc", "", "write the table of the trial to this file")
)

// goals are the design's targets for the root-mean-square error, in ms. The 10 Hz
// quarter mile is held to 7.5 instead of 6: the spreadsheet way, which has 8 where
// the targets were set, has 9.7 on the vehicles here.
var goals = map[string]map[string]float64{
	"10 Hz 0.05": {"0-30 mph rest": 40, "0-60 mph rest": 40, "0-30 mph rollout": 10, "0-60 mph rollout": 16, "1/4 mile rollout": 7.5},
	"25 Hz 0.02": {"0-30 mph rest": 26, "0-60 mph rest": 26, "0-30 mph rollout": 5, "0-60 mph rollout": 7, "1/4 mile rollout": 2.5},
}

// TestAccuracy holds the estimator to simulated runs of known truth. The short
// trial allows for its own chance error: three standard errors of a root mean
// square and of a share. The full one (make accuracy) prints what it measured.
func TestAccuracy(t *testing.T) {
	n := *accuracyRuns
	if n == 0 {
		n = 105
	}
	var doc strings.Builder
	for _, c := range receivers {
		goal, short := goals[c.name]
		if !strings.Contains(c.name, *accuracyOnly) || *accuracyRuns == 0 && !short {
			continue
		}
		res := trial(t, c.rx, synth.Vehicles(), n)
		in, all := 0, 0
		for _, name := range accuracyTargets {
			for _, from := range []string{"rest", "rollout"} {
				ta := res[name+" "+from]
				t.Logf("%-12s %-9s %-8s %v", c.name, name, from, ta)
				row(&doc, c.name, name, from, ta)
				in, all = in+ta.in, all+ta.n
				rms := 1e3 * math.Sqrt(ta.sq/float64(ta.n))
				if g := goal[name+" "+from]; g > 0 && rms > g*(1+3/math.Sqrt(2*float64(n))) {
					t.Errorf("%s %s %s: root mean square error %.1f ms, goal %.1f ms", c.name, name, from, rms, g)
				}
			}
		}
		share, se := float64(in)/float64(all), math.Sqrt(0.95*0.05/float64(n))
		if share < 0.93-3*se/2 || share > 0.99 {
			t.Errorf("%s: %.1f %% of the intervals hold the truth", c.name, 100*share)
		}
	}
	bound(t, &doc, n)
	if *accuracyDoc != "" {
		if err := os.WriteFile(*accuracyDoc, []byte(fmt.Sprintf(docHead, *accuracyRuns)+doc.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// bound compares the 0-60 mph time with rollout of steady acceleration in white
// noise with the Cramér-Rao bound of one who knows that acceleration is steady
// and only its value and the launch are open: the time is then a function of the
// slope of a straight line through the moving samples, T = V/a - sqrt(2 d/a).
func bound(t *testing.T, doc *strings.Builder, n int) {
	const a, sd, rate = 4.0, 0.05, 10.0
	truth := synth.ConstantAcceleration(a, 9)
	tg, _ := timing.ParseTarget("0-60 mph")
	sq, m := 0.0, 0
	for i := range n / 3 {
		s := synth.Single(truth, 30, 4+0.037*float64(i%27))
		_, res, err := firstRun(s.Track(synth.Receiver{Rate: rate, Noise: sd, Correlation: -1, NoPosition: true}, uint64(i)), []timing.Target{tg})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range res.Times {
			if x.From == timing.FromRollout {
				d := x.Seconds - (tg.To/a - math.Sqrt(2*unit.Rollout/a))
				sq += d * d
				m++
			}
		}
	}
	k := 0.0
	for x := 0.5 / rate; x < 9; x += 1 / rate {
		k += (x - 4.5) * (x - 4.5)
	}
	crb := (tg.To/(a*a) - math.Sqrt(unit.Rollout/2/a)/a) * sd / math.Sqrt(k)
	rms := math.Sqrt(sq / float64(m))
	t.Logf("steady 4 m/s², 10 Hz, 0.05 m/s: 0-60 mph with rollout rms %.1f ms, bound with the form known %.1f ms, ratio %.1f", 1e3*rms, 1e3*crb, rms/crb)
	fmt.Fprintf(doc, "\nCramér-Rao bound: steady 4 m/s² from the first instant, 10 Hz, white noise of 0.05 m/s, 0-60 mph with rollout, %d runs: RMS %.1f ms. Somebody who knew beforehand that acceleration is steady, and fitted one straight line, could do no better than %.1f ms (ratio %.1f). The estimator does not know it: it keeps room for shifts and for a build-up of thrust that this run does not have.\n", m, 1e3*rms, 1e3*crb, rms/crb)
}

func row(w *strings.Builder, rx, name, from string, t *tally) {
	n := float64(t.n)
	rms, nv := 1e3*math.Sqrt(t.sq/n), 1e3*math.Sqrt(t.naive/n)
	fmt.Fprintf(w, "| %s | %s | %s | %d | %.1f | %.1f | %.1f | %.1f | %.2f |\n", rx, name, from, t.n, 1e3*t.sum/n, rms, 100*float64(t.in)/n, 1e3*t.width/n, rms/nv)
}

const docHead = `# Accuracy at home

Made by ` + "`make accuracy`" + `: %d simulated standing starts a receiver, seven vehicles in turn
(electric, automatic, manual, continuously variable, traction-limited, spinning, a van), thrust
building up over 40 to 250 ms in one of three shapes, launches at random instants between samples,
noise of neighbouring samples correlated by 0.35 unless the receiver's name says otherwise. Names give
rate and the standard deviation of one velocity component in m/s. "hold" shows 0 below 0.3 m/s;
"0.1kn" and "1km/h" print that step (noise 0.03); "outl." has jumps of 2-10 m/s; "drops" loses about a
second six times a minute; "nocrs" has no course below 1 m/s; "white" and "rho.7" differ in the
correlation; "jittr" samples at irregular instants, "stamp" stamps with an error of 10 ms.

Error is reported minus true time in ms; coverage is the share of 95 %% intervals that hold the truth;
the last column is the error's RMS over that of the spreadsheet way on the same samples (from the last
sample under 0.3 m/s, straight lines, trapezia), which outliers can make meaningless.

| receiver | target | from | runs | bias | RMS | coverage %% | mean half-width | RMS / spreadsheet |
|---|---|---|---:|---:|---:|---:|---:|---:|
`
