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

// What is known beside the times is averaged as times are, over the runs that count there.
func TestMeansOfOtherQuantities(t *testing.T) {
	res := &Result{}
	for i, v := range []float64{20, 22, 30} {
		tm := timing.Time{Name: "330 ft", From: timing.FromRollout, Seconds: 8, U95: 0.1, TrapSpeed: v, TrapU95: 0.1, EndSpeed: v + 1, EndU95: 0.1}
		res.Runs = append(res.Runs, &TimedRun{Counted: i < 2, Mode: "x", Kind: segment.StandingStart, HeadingDeg: float64(10 + 180*i), PeakAccel: 3 + float64(i),
			Times: []timing.Time{tm}, Pulls: []timing.Time{{Name: "30-50 mph", From: timing.FromSpeed, Seconds: v / 10, U95: 0.1}}})
	}
	res.Runs[1].Pulls[0].Doubt = "lift"
	means := res.MeansOf(res.Groups(), TrapSpeed("330 ft"), EndSpeed("330 ft"), Pull("30-50 mph"), PeakAcceleration, Pull("1-2 mph"))
	for k, want := range []Mean{{X: 21, N: 2, TwoWay: true}, {X: 22, N: 2, TwoWay: true}, {X: 2, N: 1, OneWay: true}, {X: 3.5, N: 2, TwoWay: true}, {}} {
		got := means[k][0]
		if got.U95 < 0.05 && got.N > 0 {
			t.Errorf("quantity %d: ±%v", k, got.U95)
		}
		if got.U95 = 0; math.Abs(got.X-want.X) > 1e-9 || got.N != want.N || got.TwoWay != want.TwoWay || got.OneWay != want.OneWay {
			t.Errorf("quantity %d: %+v, want %+v", k, got, want)
		}
	}
}
