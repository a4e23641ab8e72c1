package synth

import (
	"bytes"
	"testing"

	"fromrest/pkg/unit"
)

func TestDemo(t *testing.T) {
	first, err := Demo(DemoSeed)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Demo(DemoSeed)
	if err != nil {
		t.Fatal(err)
	}
	sum, n := map[string]float64{}, map[string]int{}
	both := map[string][2]int{}
	for i, l := range first {
		var a, b bytes.Buffer
		if err := l.Write(&a); err != nil {
			t.Fatalf("%s: %v", l.Name, err)
		}
		if err := again[i].Write(&b); err != nil {
			t.Fatalf("%s: %v", l.Name, err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s differs between two simulations of one seed", l.Name)
		}
		for _, r := range l.Session.Starts() {
			if r.Lift {
				continue
			}
			v, ok := r.TimeToSpeed(60*unit.MPH, true)
			if _, far := r.TimeToDistance(unit.Mile/4, true); !ok || !far {
				t.Errorf("%s: a run ends before 60 mph or a quarter mile", l.Name)
			}
			sum[l.Mode] += v
			n[l.Mode]++
			c := both[l.Mode]
			if r.Reverse {
				c[1]++
			} else {
				c[0]++
			}
			both[l.Mode] = c
		}
		t.Logf("%s: %d bytes, %.0f s", l.Name, a.Len(), l.Session.Motion.End())
	}
	last := 1e9
	for _, m := range VanModes {
		if both[m] != [2]int{2, 2} {
			t.Errorf("mode %s has %v runs out and back, want 2 and 2", m, both[m])
		}
		mean := sum[m] / float64(n[m])
		t.Logf("%s: 0-60 mph with rollout %.3f s", m, mean)
		if mean >= last {
			t.Errorf("mode %s takes %.2f s to 60 mph, no less than the gentler one", m, mean)
		}
		last = mean
	}
}
