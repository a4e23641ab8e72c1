package figure_test

import (
	"bytes"
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/figure"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/synth"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

var update = flag.Bool("update", false, "write the figures of the documentation anew instead of comparing")

// methodRun is a simulated launch, its samples and its estimate, all counted from
// the true launch.
type methodRun struct {
	truth  *synth.Truth
	trace  motion.Trace
	t, v   []float64 // samples, s and m/s
	launch float64   // s, estimated
	u95    float64   // s, half-width of the launch
}

func newMethodRun(t *testing.T) *methodRun {
	t.Helper()
	const seed = 1491
	rng := rand.New(rand.NewPCG(seed, 1))
	truth, err := synth.SimulateRun(rng, synth.Van("full"), synth.Road{}, synth.Variation{Power: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	s := synth.Single(truth, 64, 8.03)
	rx := synth.Receiver{Rate: 10, Noise: 0.1, Hold: 0.4, Step: 0.01 * unit.Knot}
	samples, err := estimate.Prepare(s.Track(rx, seed))
	if err != nil {
		t.Fatal(err)
	}
	for _, sg := range segment.Find(samples.SegmentInput()) {
		if sg.Kind != segment.StandingStart {
			continue
		}
		e, err := samples.Run(context.Background(), estimate.Window{From: sg.From, To: sg.To, Moving: sg.Moving, Standing: true})
		if err != nil {
			t.Fatal(err)
		}
		// Samples count from the log's first fix, the truth from the launch.
		at := s.Runs[0].Launch
		m := &methodRun{truth: truth, trace: timing.Measure(e, nil).Trace,
			launch: e.Launch.X - at, u95: e.Launch.U95()}
		for i := range m.trace.T {
			m.trace.T[i] += m.launch
		}
		rt, rv, _ := e.Raw()
		for i := range rt {
			m.t, m.v = append(m.t, rt[i]-at), append(m.v, rv[i])
		}
		return m
	}
	t.Fatal("no standing start found")
	return nil
}

// Limits of the drawing in s.
const (
	methodFrom = -0.5
	methodTo   = 2.0
)

func (m *methodRun) figure() *figure.Figure {
	var et, ev, lo, hi, tt, tv []float64
	for i, x := range m.trace.T {
		if x < methodFrom || x > methodTo {
			continue
		}
		v, h := m.trace.V[i]/unit.KMH, uncert.Z95*m.trace.SV[i]/unit.KMH
		et, ev, lo, hi = append(et, x), append(ev, v), append(lo, math.Max(v-h, 0)), append(hi, v+h)
	}
	for i := range 501 {
		x := methodFrom + (methodTo-methodFrom)*float64(i)/500
		_, v, _ := m.truth.At(x)
		tt, tv = append(tt, x), append(tv, v/unit.KMH)
	}
	var st, sv []float64
	for i, x := range m.t {
		if x >= methodFrom && x <= methodTo {
			st, sv = append(st, x), append(sv, m.v[i]/unit.KMH)
		}
	}
	return &figure.Figure{
		Title: "The first two seconds of a simulated launch", Size: figure.Wide,
		Desc:   "Speed against time since the true launch: the true speed, the samples of a 10 Hz receiver, and the estimate with its 95 % band. Two upright lines bound the 95 % interval of the launch.",
		Key:    []figure.KeyEntry{{Series: 0, Text: "estimate, 95 % band"}, {Series: 1, Text: "truth"}},
		XTitle: "time since the true launch, s", YTitle: "speed, km/h; dots are samples, upright lines the 95 % interval of the launch",
		Plot: func(t *figure.Theme) *plot.Plot {
			p := figure.NewPlot(t)
			p.X.Tick.Marker = figure.Ticks{Most: 12}
			edge := draw.LineStyle{Color: t.Soft(), Width: 0.8}
			p.Add(&figure.Band{X: et, Lo: lo, Hi: hi, Color: t.Series(0).Fade(0.3)},
				&figure.Upright{X: m.launch - m.u95, Style: edge}, &figure.Upright{X: m.launch + m.u95, Style: edge},
				&figure.Curve{X: et, Y: ev, Style: t.Line(0)},
				&figure.Curve{X: tt, Y: tv, Style: t.Line(1)},
				&figure.Dots{X: st, Y: sv, Color: t.Ink(), Radius: 2.1})
			p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = methodFrom, methodTo, -0.4, 25
			return p
		},
	}
}

// TestMethodFigure keeps the figure of docs/method.md what the code makes.
func TestMethodFigure(t *testing.T) {
	m := newMethodRun(t)
	if math.Abs(m.launch) > m.u95 {
		t.Errorf("the launch is off by %.3f s, more than ±%.3f s", m.launch, m.u95)
	}
	got := m.figure().SVG()
	path := filepath.Join("..", "..", "docs", "method.svg")
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("docs/method.svg is not what the code draws; look at the difference, then run the test with -update")
	}
}
