package ramp

import (
	"math"
	"testing"
)

// A table is what is shown, to the square of its step; a share that comes at once adds up
// with the rest.
func TestTableIsWhatIsShown(t *testing.T) {
	const step = 0.00625
	for _, f := range []Filter{FirstOrderOf(0.1), MeanOfFixes(5, 0.1), TrackerOf(0.4, 0.1), {}} {
		for _, back := range []bool{false, true} {
			sudden := (&Seen{By: &f, Backwards: back}).Tabulate(-1, 2, step)
			for _, rp := range []Ramp{{Linear, 0.3}, {Square, 0.5}, {Cosine, 0.3}} {
				s := Seen{Ramp: rp, By: &f, Backwards: back}
				table := s.Tabulate(-1, 2, step)
				both := sudden.With(0.4, table)
				for at := -0.9; at < 1.95; at += 0.0531 {
					v, _ := s.Response(at)
					w, _ := (&Seen{By: &f, Backwards: back}).Response(at)
					if got, _ := table.Response(at); math.Abs(got-v) > 2e-3 {
						t.Errorf("%s, %v at %.3f s: %.5f, shown %.5f", f.String(), rp, at, got, v)
					}
					if got, _ := both.Response(at); math.Abs(got-0.4*w-0.6*v) > 2e-3 {
						t.Errorf("%s, %v at %.3f s: %.5f of both", f.String(), rp, at, got)
					}
				}
			}
		}
	}
}

// The evidence of releases stands in the place of the build-ups' with its own values where
// they were tried, and between them elsewhere.
func TestEvidenceOfReleases(t *testing.T) {
	ll := make([]float64, len(Releases()))
	for i, rp := range Releases() {
		ll[i] = math.Log(math.Max(rp.Tau, 0.033))
		if rp.Shape == Square {
			ll[i] += 10
		}
	}
	e := OfReleases(ll)
	for i, rp := range All {
		want := math.Log(math.Max(rp.Tau, 0.033))
		if rp.Shape == Lag {
			want += 10
		}
		if c := column(i); c != 1 && math.Abs(e[i]-want) > 0.03 {
			t.Errorf("%v: %.3f, want %.3f", rp, e[i], want)
		}
	}
}
