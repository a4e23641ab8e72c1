package worlds

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// The arithmetic of the truth against closed forms: at a constant acceleration a speed is
// reached after v/a, a distance after the root of 2s/a.
func TestTruthOfConstantAcceleration(t *testing.T) {
	w := World{Vehicle: func(*rand.Rand) Vehicle { return Vehicle{Plateau: 4, Power: 1e9} }, Foot: stepped}
	m := w.Drive(rand.New(rand.NewPCG(1, 1)))
	if len(m.Starts) != starts {
		t.Fatalf("%d starts", len(m.Starts))
	}
	for _, s := range m.Starts {
		a := m.A[int(s.Launch/tick)+1]                                                          // as drawn for this start, drag is nothing yet
		if got, want := s.Rest["0-30 mph"], 30*mph/a; math.Abs(got-want) > 0.03 || got < want { // drag takes some 0.02 s
			t.Errorf("0-30 mph %.4f s, want %.4f", got, want)
		}
		roll := math.Sqrt(2 * foot1 / a)
		if got, want := s.Rest["0-30 mph"]-s.Rollout["0-30 mph"], roll; math.Abs(got-want) > 0.002 {
			t.Errorf("rollout %.4f s, want %.4f", got, want)
		}
		if s.Moved != s.Launch {
			t.Errorf("moved at %.3f, launched at %.3f", s.Moved, s.Launch)
		}
	}
}

func TestFeetReach95PerCentWhenTheySay(t *testing.T) {
	for _, sh := range []Shape{Straight, Rounded, Slowing, Stepped} {
		if got := (Foot{0.8, sh}).Thrust(0.8); math.Abs(got-0.95) > 1e-3 {
			t.Errorf("shape %d: %.4f after the build-up", sh, got)
		}
	}
	var under, over, n float64
	rng := rand.New(rand.NewPCG(2, 2))
	for range 20000 {
		b := ordinaryFoot(rng).Build
		n++
		if b < 0.45 {
			under++
		}
		if b > 4.1 {
			over++
		}
	}
	if math.Abs(under/n-0.05) > 0.006 || math.Abs(over/n-0.05) > 0.006 {
		t.Errorf("%.3f under the 5th per cent, %.3f over the 95th", under/n, over/n)
	}
}

// What happens before a launch is in the truth.
func TestBeforeTheLaunch(t *testing.T) {
	for before, want := range map[Before]func(*Motion, Start) bool{
		Nothing:   func(_ *Motion, s Start) bool { return s.Moved == s.Launch },
		RollsBack: func(m *Motion, s Start) bool { return lowest(m.V, s.Moved, s.Launch) < -0.1 && s.Launch > s.Moved },
		Creeps:    func(m *Motion, s Start) bool { v := m.V[int(s.Launch/tick)-1]; return math.Abs(v-creepAt) < 0.01 },
		Jabs:      func(m *Motion, s Start) bool { return m.V[int(s.Launch/tick)-1] == 0 && s.Launch-s.Moved > 0.5 },
	} {
		w := World{Vehicle: car, Foot: quickFoot, Before: before}
		m := w.Drive(rand.New(rand.NewPCG(3, 3)))
		for _, s := range m.Starts {
			if !want(m, s) {
				t.Errorf("before %d: moved at %.2f, launched at %.2f", before, s.Moved, s.Launch)
			}
		}
	}
}

func lowest(v []float64, from, to float64) float64 {
	low := 0.0
	for i := int(from / tick); i < int(to/tick); i++ {
		low = min(low, v[i])
	}
	return low
}

// A filter of the first order is behind a steady rise by its time constant, a mean of n
// samples by (n-1)/2 of them.
func TestReceiversLag(t *testing.T) {
	m := &Motion{}
	for i := range 20000 {
		m.V, m.S, m.A = append(m.V, 2*float64(i)*tick), append(m.S, 0), append(m.A, 2)
	}
	for name, c := range map[string]struct {
		rx   Receiver
		late float64
	}{"none": {Receiver{Rate: 10}, 0}, "lag": {Receiver{Rate: 10, Lag: 0.2}, 0.2}, "mean": {Receiver{Rate: 10, Mean: 5}, 0.2}, "squat": {Receiver{Rate: 10, Squat: 2.6}, 0}} {
		f := c.rx.fixes(m, rand.New(rand.NewPCG(4, 4)))
		last := f[len(f)-1]
		if got := last.t - math.Hypot(last.north, last.east)/2; math.Abs(got-c.late) > 0.003 {
			t.Errorf("%s: %.3f s late, want %.3f", name, got, c.late)
		}
	}
}

func TestLogsAreNMEA(t *testing.T) {
	w := All()[0]
	rng := rand.New(rand.NewPCG(5, 5))
	m := w.Drive(rng)
	log := string(w.Receiver.Observe(m, time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC), rng))
	if n := strings.Count(log, "$GNRMC"); n != (len(m.V)+99)/100 {
		t.Errorf("%d fixes of %d ms", n, len(m.V))
	}
	// A sentence and its checksum worked out by hand: the exclusive or of "A,B" is 0x2F.
	if b := (func() string { var b bytes.Buffer; sentence(&b, "A,B"); return b.String() })(); b != "$A,B*2F\r\n" {
		t.Errorf("%q", b)
	}
}
