package align

import (
	"context"
	"math"
	"testing"

	"fromrest/pkg/synth"
)

// reckoned integrates a session's accelerometer and compares.
func reckoned(t testing.TB, s *synth.Session, acc synth.Accelerometer, seed uint64) (*Alone, []float64) {
	t.Helper()
	out, err := Integrate(context.Background(), s.Accel(acc, seed))
	if err != nil {
		t.Fatal(err)
	}
	truth := make([]float64, len(out.T))
	for i, x := range out.T {
		truth[i] = s.Motion.At(x).V
	}
	return out, truth
}

// Speed dead reckoned between standstills is as good as it says, for any
// mounting, and standstills are where the vehicle stands.
func TestDeadReckoningIsHonest(t *testing.T) {
	n, in, squares, at := 0.0, 0.0, 0.0, 0.0
	stops, moves := 0, 0
	for i := range *draws / 3 {
		tr := draw(t, uint64(i)+1, synth.Receiver{}, false)
		tr.acc.Drift, tr.acc.Offset = 0, 0
		out, truth := reckoned(t, tr.s, tr.acc, uint64(i)+1)
		if out.Align.Reason != "" {
			t.Errorf("draw %d: %s", i, out.Align.Reason)
			continue
		}
		for _, r := range out.Rest {
			fastest := 0.0
			for x := r[0]; x < r[1]; x += 0.1 {
				fastest = max(fastest, tr.s.Motion.At(x).V)
			}
			// A vehicle that shakes no more when it creeps cannot be told from one at
			// rest half a minute after the last standstill.
			if stops++; fastest > 0.1 {
				moves++
			}
			if fastest > 1.5 {
				t.Errorf("draw %d: moves at %.2f m/s in the standstill %.1f", i, fastest, r)
			}
		}
		for k := range truth {
			if truth[k] < 5 || k%40 > 0 {
				continue
			}
			e := (out.V[k] - truth[k]) / out.U[k]
			n, squares = n+1, squares+e*e
			at += math.Abs(out.V[k]-truth[k]) / truth[k]
			if math.Abs(e) < 1.96 {
				in++
			}
			if math.Abs(e) > 4 {
				t.Logf("draw %d at %.1f: %.2f ± %.2f, truth %.2f", i, out.T[k], out.V[k], out.U[k], truth[k])
			}
		}
	}
	if moves*20 > stops {
		t.Errorf("%d of %d standstills are none", moves, stops)
	}
	if in/n < 0.95 {
		t.Errorf("only %.1f %% of the speeds lie within their 95 %% interval", 100*in/n)
	}
	t.Logf("%d standstills, %d of them creep", stops, moves)
	t.Logf("rms of deviation/u %.2f, %.1f %% within 95 %%, mean error %.1f %% of the speed", math.Sqrt(squares/n), 100*in/n, 100*at/n)
}
