package session

import (
	"math"
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
)

// TestMeanInterval works means out by hand.
func TestMeanInterval(t *testing.T) {
	mean := func(deg []float64, sec ...float64) Mean {
		res := &Result{}
		for i, s := range sec {
			res.Runs = append(res.Runs, &TimedRun{Counted: true, Mode: "x", Kind: segment.StandingStart, HeadingDeg: deg[i],
				Times: []timing.Time{{Name: "x", From: timing.FromRollout, Seconds: s, U95: 0.1 * 1.959963984540054}}})
		}
		return res.Means(res.Groups(), "x", timing.FromRollout)[0]
	}
	// One run each way: the mean of both. They cannot show their scatter, and an
	// allowance of 0.012·7 s = 0.084 s joins the measurement's 0.1 s.
	m := mean([]float64{10, 190}, 6, 8)
	want := 1.959964 * math.Sqrt((0.084*0.084+0.01)*2) / 2
	if m.X != 7 || !m.TwoWay || m.OneWay || math.Abs(m.U95-want) > 1e-4 {
		t.Errorf("mean %+v, want ±%v", m, want)
	}
	// Ten runs one way show their own scatter, which is less than the
	// measurement's: that is never undercut. One degree of freedom goes to the drift: t of 8
	// is 2.306004 (tables), and the design takes a little more.
	deg, sec := make([]float64, 10), make([]float64, 10)
	for i := range sec {
		deg[i], sec[i] = float64(355+i), 6
	}
	m = mean(deg, sec...)
	if want := 2.306004 * 0.1 / math.Sqrt(10); m.U95 < want || m.U95 > 1.005*want || !m.OneWay || m.N != 10 {
		t.Errorf("mean %+v, want ±%v", m, want)
	}
	// Unequal numbers each way: the mean of the directions, not of the runs.
	m = mean([]float64{10, 10, 190}, 6, 6, 9)
	if m.X != 7.5 || m.N != 3 {
		t.Errorf("mean %+v", m)
	}
}
