package synth

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// testScenario is a session of four runs in both directions among creeping,
// aborted starts and turning round.
func testScenario() Scenario {
	v := Van("full")
	return Scenario{HeadingDeg: 72, LatDeg: 51.4, LonDeg: -2.1, Altitude: 80, Road: Road{Grade: 0.004, HeadWind: 2},
		Events: []Event{
			{Kind: Creep}, {Kind: Start, Mode: "full", Vehicle: v}, {Kind: Aborted, Mode: "full", Vehicle: v, Reverse: true},
			{Kind: Start, Mode: "full", Vehicle: v, Reverse: true}, {Kind: Circle}, {Kind: Creep},
			{Kind: Start, Mode: "full", Vehicle: v}, {Kind: Idle, Seconds: 30}, {Kind: Start, Mode: "full", Vehicle: v}}}
}

func mustSimulate(t *testing.T, sc Scenario, seed uint64) *Session {
	t.Helper()
	s, err := sc.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSessionIsContinuous(t *testing.T) {
	s := mustSimulate(t, testScenario(), 3)
	m := &s.Motion
	for i := 1; i < len(m.T); i++ {
		h := m.T[i] - m.T[i-1]
		if h < 0 || h == 0 && (m.V[i] != m.V[i-1] || m.S[i] != m.S[i-1]) {
			t.Fatalf("node %d: step of %g s from %g m/s to %g m/s", i, h, m.V[i-1], m.V[i])
		}
		if m.V[i] < -1e-9 {
			t.Fatalf("node %d at %.3f s: negative speed %g", i, m.T[i], m.V[i])
		}
	}
	// Distance must be the integral of speed and speed that of acceleration.
	var dist, speed float64
	cur := cursor{m: m}
	const h = 0.001
	for x := h / 2; x < m.End(); x += h {
		st := cur.at(x)
		dist += st.V * h
		speed += st.A * h
		if math.Abs(speed-st.V) > 0.02 {
			t.Fatalf("at %.3f s acceleration integrates to %.4f m/s, speed is %.4f", x, speed, st.V)
		}
	}
	if end := m.S[m.last()]; math.Abs(dist-end) > 0.01 {
		t.Errorf("speed integrates to %.4f m, distance is %.4f", dist, end)
	}
	if n := len(s.Starts()); n != 4 {
		t.Errorf("%d starts, want 4", n)
	}
	for _, r := range s.Runs {
		if st := m.At(r.Launch - 0.01); st.V != 0 || r.Rest < 2 {
			t.Errorf("run at %.2f s does not start from rest", r.Launch)
		}
		if got := m.At(r.Launch + 2).V; math.Abs(got-valueAt(r.Truth, 2)) > 1e-9 {
			t.Errorf("2 s into the run at %.2f s the session has %.6f m/s", r.Launch, got)
		}
		if r.Kind == Aborted && r.V[len(r.V)-1] > 25*unit.MPH {
			t.Errorf("an aborted start reached %.1f m/s", r.V[len(r.V)-1])
		}
		if got, want := r.Braking.Distance, r.Braking.Speed*r.Braking.Speed/12; math.Abs(got-want) > 0.3*r.Braking.Speed {
			t.Errorf("stop from %.1f m/s takes %.1f m, about %.1f expected", r.Braking.Speed, got, want)
		}
	}
	if d := s.Runs[0].Heading - s.Runs[2].Heading; math.Abs(math.Abs(d)-math.Pi) > 1e-9 {
		t.Errorf("runs in both directions differ in heading by %g rad", d)
	}
}

func valueAt(tr *Truth, t float64) float64 {
	_, v, _ := tr.At(t)
	return v
}

func TestNoiseStatistics(t *testing.T) {
	s := mustSimulate(t, Scenario{Events: []Event{{Kind: Idle, Seconds: 4000}}}, 1)
	for _, c := range []struct{ correlation, want float64 }{{0, 0.35}, {0.7, 0.7}, {-1, 0}} {
		tr := s.Track(Receiver{Noise: 0.05, Correlation: c.correlation, Velocity: true}, 9)
		for _, col := range []recording.Column{recording.VelNorth, recording.VelEast} {
			x := tr.Col(col)
			var ss, lag float64
			for i := range x {
				ss += x[i] * x[i]
				if i > 0 {
					lag += x[i] * x[i-1]
				}
			}
			n := float64(len(x)) // about 40,000: sd known to 0.5 %, correlation to 0.005
			if sd := math.Sqrt(ss / n); math.Abs(sd-0.05) > 0.0012 {
				t.Errorf("standard deviation %.4f m/s, want 0.05", sd)
			}
			if r := lag / ss; math.Abs(r-c.want) > 0.025 {
				t.Errorf("correlation %.3f, want %.2f", r, c.want)
			}
		}
		// Speed is the length of the noisy vector: Rayleigh, mean sd·sqrt(π/2).
		mean := 0.0
		for _, v := range tr.Col(recording.Speed) {
			mean += v / float64(tr.Len())
		}
		if want := 0.05 * math.Sqrt(math.Pi/2); math.Abs(mean-want) > 0.0015 {
			t.Errorf("mean speed at rest %.4f m/s, want %.4f", mean, want)
		}
	}
}

func TestReceiverFaults(t *testing.T) {
	s := mustSimulate(t, testScenario(), 5)
	clean := s.Track(Receiver{}, 1)
	cur := cursor{m: &s.Motion}
	for i := range clean.Len() {
		st := cur.at(float64(i) / 10)
		if got := clean.Value(recording.Speed, i); math.Abs(got-st.V) > 1e-9 {
			t.Fatalf("fix %d of a perfect receiver: %.6f m/s, truth %.6f", i, got, st.V)
		}
	}
	held := s.Track(Receiver{Noise: 0.05, Hold: 0.5, Step: 0.1 * unit.Knot}, 1)
	for i := range held.Len() {
		v, c := held.Value(recording.Speed, i), held.Value(recording.Course, i)
		if v > 0 && v < 0.45 || v == 0 != math.IsNaN(c) {
			t.Fatalf("fix %d: speed %g, course %g under a static hold of 0.5 m/s", i, v, c)
		}
		if n := v / (0.1 * unit.Knot); math.Abs(n-math.Round(n)) > 1e-9 {
			t.Fatalf("fix %d: %g m/s is not a multiple of 0.1 kn", i, v)
		}
	}
	wild := s.Track(Receiver{Outliers: 0.01}, 1)
	jumps := 0
	for i := range wild.Len() {
		if d := math.Abs(wild.Value(recording.Speed, i) - clean.Value(recording.Speed, i)); d > 1e-9 {
			jumps++
			if d > 10+1e-9 {
				t.Errorf("fix %d jumps by %g m/s", i, d)
			}
		}
	}
	if n := float64(clean.Len()); float64(jumps) < 0.01*n || float64(jumps) > 0.04*n {
		t.Errorf("%d of %d samples are outliers at 1 %% jumps of 1-3 samples", jumps, clean.Len())
	}
	if gappy := s.Track(Receiver{DropOuts: 2}, 1); gappy.Len() > clean.Len()-20 {
		t.Errorf("drop-outs lost %d fixes", clean.Len()-gappy.Len())
	}
}

func TestPositionsFollowTheSpeed(t *testing.T) {
	s := mustSimulate(t, testScenario(), 5)
	tr := s.Track(Receiver{Rate: 10}, 1)
	// Metres per degree at 51.4° N on WGS 84, from the series in common use.
	lat := 51.4 * math.Pi / 180
	mLat := 111132.954 - 559.822*math.Cos(2*lat) + 1.175*math.Cos(4*lat)
	mLon := 111412.84*math.Cos(lat) - 93.5*math.Cos(3*lat) + 0.118*math.Cos(5*lat)
	path := 0.0
	for i := 1; i < tr.Len(); i++ {
		dn := (tr.Value(recording.LatDeg, i) - tr.Value(recording.LatDeg, i-1)) * mLat
		de := (tr.Value(recording.LonDeg, i) - tr.Value(recording.LonDeg, i-1)) * mLon
		path += math.Hypot(dn, de)
	}
	if want := s.Motion.S[s.Motion.last()]; math.Abs(path/want-1) > 2e-4 {
		t.Errorf("positions cover %.2f m, the vehicle %.2f m", path, want)
	}
}

func TestDeterminism(t *testing.T) {
	rx := Receiver{Noise: 0.05, Outliers: 0.01, DropOuts: 1, Jitter: 0.01, PositionNoise: 1}
	acc := Accelerometer{Noise: 0.3, Gaps: 1}
	a := mustSimulate(t, testScenario(), 11).Recording(rx, &acc, 4)
	b := mustSimulate(t, testScenario(), 11).Recording(rx, &acc, 4)
	if !reflect.DeepEqual(a.Accel, b.Accel) || a.Primary().Len() != b.Primary().Len() {
		t.Fatal("two simulations of one seed differ")
	}
	for i := range a.Primary().Len() {
		if fa, fb := a.Primary().At(i), b.Primary().At(i); fa.Time != fb.Time || fa.Q[recording.Speed] != fb.Q[recording.Speed] {
			t.Fatalf("fix %d of two simulations of one seed differs", i)
		}
	}
	c := mustSimulate(t, testScenario(), 12)
	if c.Runs[0].Launch == mustSimulate(t, testScenario(), 11).Runs[0].Launch {
		t.Error("two seeds give the same session")
	}
}

func TestAccelerometer(t *testing.T) {
	s := mustSimulate(t, testScenario(), 5)
	rng := rand.New(rand.NewPCG(2, 2))
	m := RandomRotation(rng)
	for i := range 3 {
		for j := range 3 {
			dot := m[3*i]*m[3*j] + m[3*i+1]*m[3*j+1] + m[3*i+2]*m[3*j+2]
			if want := map[bool]float64{true: 1}[i == j]; math.Abs(dot-want) > 1e-12 {
				t.Fatalf("rows %d and %d of a rotation have product %g", i, j, dot)
			}
		}
	}
	a := s.Accel(Accelerometer{Mounting: m, Offset: 1.5, Drift: 20e-6}, 1)
	for i := 0; i < 200; i++ { // at rest, on a slope: gravity whatever the mounting
		if g := math.Sqrt(a.X[i]*a.X[i] + a.Y[i]*a.Y[i] + a.Z[i]*a.Z[i]); math.Abs(g-unit.GravityStandard) > 1e-9 {
			t.Fatalf("sample %d at rest reads %g m/s²", i, g)
		}
	}
	level := s.Accel(Accelerometer{}, 1)
	r := s.Starts()[0]
	k := int((r.Launch + 1) * 100)
	slope := math.Sin(math.Atan(s.Motion.At(r.Launch).Grade)) * unit.GravityStandard
	if want := s.Motion.At(float64(k)/100).A + slope; math.Abs(level.X[k]-want) > 1e-9 {
		t.Errorf("a level sensor reads %.4f m/s² forward, want %.4f", level.X[k], want)
	}
	if d := a.NanoUTC[100] - recording.Nano(s.Scenario.Begin); d != 2500020000 {
		t.Errorf("the sample at 1 s is stamped %d ns, want 2500020000 with 1.5 s and 20 ppm", d)
	}
	clipped := s.Accel(Accelerometer{Clip: 3, Noise: 1}, 1)
	for i := range clipped.X {
		if math.Abs(clipped.Z[i]) > 3 {
			t.Fatalf("a sample reads %g m/s² beyond the clip", clipped.Z[i])
		}
	}
}

// TestLongSession drives about for two hours around two starts and a pull.
func TestLongSession(t *testing.T) {
	v := Automatic()
	s := mustSimulate(t, Scenario{HeadingDeg: 200, Events: []Event{
		{Kind: Drive, Seconds: 3600}, {Kind: Start, Vehicle: v}, {Kind: Pull, Vehicle: v, From: 9},
		{Kind: Drive, Seconds: 3600}, {Kind: Start, Vehicle: v, Reverse: true}}}, 8)
	if end := s.Motion.End(); end < 7200 || end > 7900 {
		t.Errorf("the session lasts %.0f s", end)
	}
	if len(s.Runs) != 3 || len(s.Starts()) != 2 {
		t.Fatalf("%d runs and %d starts, want 3 and 2", len(s.Runs), len(s.Starts()))
	}
	for i, want := range []float64{200, 200, 20} {
		if got := s.Runs[i].HeadingDeg(); math.Abs(got-want) > 1e-6 {
			t.Errorf("run %d heads %.4f°, want %g°", i+1, got, want)
		}
	}
	if p := s.Runs[1]; p.V[0] != 9 || math.Abs(s.Motion.At(p.Launch).V-9) > 1e-9 {
		t.Errorf("the pull starts at %.3f m/s, want 9", p.V[0])
	}
	tr := s.Track(Receiver{}, 1)
	for i := range tr.Len() { // nothing but the runs is quick
		x := float64(i) / 10
		inRun := false
		for _, r := range s.Runs {
			inRun = inRun || x >= r.Launch && x < r.Launch+r.End()+15
		}
		if v := tr.Value(recording.Speed, i); !inRun && v > 27*unit.MPH {
			t.Fatalf("%.1f m/s at %.1f s, outside every run", v, x)
		}
	}
}
