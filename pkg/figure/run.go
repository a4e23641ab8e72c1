package figure

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Options shape the figures of runs. The zero value draws wide figures in mph
// from the rollout.
type Options struct {
	Units string // "mph" (default) or "kmh"
	Size  Size   // Wide if zero
	// From is where time and distance begin: timing.FromRollout (default) or
	// timing.FromRest.
	From timing.Origin
	// Targets are further targets to label, by name.
	Targets []string
}

func (o Options) size() Size {
	if o.Size == (Size{}) {
		return Wide
	}
	return o.Size
}

func (o Options) from() timing.Origin {
	if o.From == "" {
		return timing.FromRollout
	}
	return o.From
}

// ticksAcross is how many ticks the level axis has room for.
func (o Options) ticksAcross() Ticks { return Ticks{Most: max(4, int(o.size().W/44))} }

// speedUnit is the name and size of the unit of speed.
func (o Options) speedUnit() (string, float64) {
	if o.Units == "kmh" {
		return "km/h", unit.KMH
	}
	return "mph", unit.MPH
}

// labelled reports whether a target is named in figures; the others are dots.
func (o Options) labelled(name string) bool {
	if name == "0-100 km/h" {
		return o.Units == "kmh"
	}
	for _, n := range append([]string{"0-30 mph", "0-60 mph", "0-100 mph", "60 ft", "1/8 mile", "1/4 mile"}, o.Targets...) {
		if n == name {
			return true
		}
	}
	return false
}

// errNoTrace is for a run whose estimate was not kept.
var errNoTrace = errors.New("the run has no trace")

// view is the part of a run that is drawn: from shortly before the launch to the
// highest speed, in the reader's units, counted from the origin.
type view struct {
	t, s, v, a, sv, sa []float64 // s, m, unit of speed, g, unit of speed, g
	t0, s0             float64   // s and m from the launch to the origin
	per                float64   // m/s in the unit of speed
}

// before is how long before the launch the drawing begins.
const before = 0.5 // s

func newView(r *session.TimedRun, o Options) (*view, error) {
	tr := &r.Trace
	if tr.Len() < 2 {
		return nil, fmt.Errorf("%s: %w", r.ID, errNoTrace)
	}
	_, per := o.speedUnit()
	w := &view{per: per}
	if o.from() == timing.FromRollout && r.Rollout > 0 {
		w.t0, w.s0 = r.Rollout, unit.Rollout
	}
	top := 0
	for i, v := range tr.V {
		if v > tr.V[top] || math.IsNaN(tr.V[top]) {
			top = i
		}
	}
	for i := 0; i <= top; i++ {
		if tr.T[i] < -before {
			continue
		}
		w.t = append(w.t, tr.T[i]-w.t0)
		w.s = append(w.s, tr.S[i]-w.s0)
		w.v = append(w.v, tr.V[i]/per)
		w.a = append(w.a, tr.A[i]/unit.GravityStandard)
		w.sv = append(w.sv, at(tr.SV, i)/per)
		w.sa = append(w.sa, at(tr.SA, i)/unit.GravityStandard)
	}
	if len(w.t) < 2 {
		return nil, fmt.Errorf("%s: %w", r.ID, errNoTrace)
	}
	return w, nil
}

// at is a column's value, NaN where the column is shorter.
func at(col []float64, i int) float64 {
	if i < len(col) {
		return col[i]
	}
	return math.NaN()
}

// valueAt interpolates a column at time t, NaN outside.
func (w *view) valueAt(col []float64, t float64) float64 {
	lo, hi := 0, len(w.t)-1
	if !(t >= w.t[0] && t <= w.t[hi]) {
		return math.NaN()
	}
	for hi-lo > 1 {
		if m := (lo + hi) / 2; w.t[m] <= t {
			lo = m
		} else {
			hi = m
		}
	}
	f := (t - w.t[lo]) / (w.t[hi] - w.t[lo])
	return col[lo] + f*(col[hi]-col[lo])
}

// edges is a column with 1.96 standard deviations taken away and added.
func edges(mid, sd []float64) (lo, hi []float64) {
	for i := range mid {
		lo = append(lo, mid[i]-uncert.Z95*sd[i])
		hi = append(hi, mid[i]+uncert.Z95*sd[i])
	}
	return lo, hi
}

// SpeedTime draws a run's speed against time with its targets marked, the band
// of 95 % and the samples it was made from.
func SpeedTime(r *session.TimedRun, o Options) (*Figure, error) {
	w, err := newView(r, o)
	if err != nil {
		return nil, err
	}
	name, _ := o.speedUnit()
	f := &Figure{Title: title(r, "speed"), Size: o.size(), XTitle: "time from " + originNoun(o.from()) + ", s", YTitle: "speed, " + name}
	f.Desc = fmt.Sprintf("Speed of run %s against time. %s", r.ID, timesInWords(r, o))
	f.Plot = func(t *Theme) *plot.Plot {
		p := NewPlot(t)
		p.X.Tick.Marker = o.ticksAcross()
		p.X.Min, p.X.Max = math.Min(w.t[0], 0), w.t[len(w.t)-1]
		p.Y.Min, p.Y.Max = 0, niceTop(maximum(w.v), 6)
		rt, rv := rawSpeed(r, w)
		lo, hi := edges(w.v, w.sv)
		line := &Curve{X: w.t, Y: w.v, Style: t.Line(0)}
		p.Add(&Band{X: w.t, Lo: lo, Hi: hi, Color: t.Series(0).Fade(0.2)},
			&Dots{X: rt, Y: rv, Color: t.Soft().Fade(0.55), Radius: 1.1},
			&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}},
			line,
			&Marks{Points: speedMarks(r, w, o), Avoid: []*Curve{line}, Theme: t, Color: t.Series(0)})
		return p
	}
	return f, nil
}

// AccelSpeed draws a run's acceleration against its speed, with the band of 95 %
// and the accelerometer's samples; without an accelerometer the dots are the
// differences of neighbouring speed samples.
func AccelSpeed(r *session.TimedRun, o Options) (*Figure, error) {
	w, err := newView(r, o)
	if err != nil {
		return nil, err
	}
	name, _ := o.speedUnit()
	f := &Figure{Title: title(r, "acceleration"), Size: o.size(), XTitle: "speed, " + name, YTitle: "acceleration, g"}
	f.Desc = fmt.Sprintf("Acceleration of run %s against speed, up to %s g.", r.ID, uncert.RoundHalfUp(maximum(w.a), 2))
	dx, dy := rawAccel(r, w)
	f.Plot = func(t *Theme) *plot.Plot {
		p := NewPlot(t)
		p.X.Tick.Marker = o.ticksAcross()
		lo, hi := edges(w.a, w.sa)
		p.X.Min, p.X.Max = 0, niceTop(maximum(w.v), 8)
		p.Y.Min, p.Y.Max = math.Min(0, minimum(w.a)*1.05), niceTop(math.Max(maximum(hi), maximum(w.a)), 6)
		line := &Curve{X: w.v, Y: w.a, Style: t.Line(0)}
		p.Add(&Band{X: w.v, Lo: lo, Hi: hi, Color: t.Series(0).Fade(0.2)},
			&Dots{X: dx, Y: dy, Color: t.Soft().Fade(0.45), Radius: 1},
			line,
			&Marks{Points: accelMarks(r, w, o), Avoid: []*Curve{line}, Theme: t, Color: t.Series(0)})
		return p
	}
	return f, nil
}

func title(r *session.TimedRun, what string) string {
	s := r.ID + ": " + what
	if r.Mode != "" && !strings.HasPrefix(r.ID, r.Mode+"#") {
		s = r.ID + ", " + r.Mode + ": " + what
	}
	return s
}

func originNoun(o timing.Origin) string {
	if o == timing.FromRest {
		return "launch"
	}
	return "rollout"
}

// speedMarks are the targets the run reached, where they lie on the curve.
func speedMarks(r *session.TimedRun, w *view, o Options) []Mark {
	var marks []Mark
	for _, tm := range r.Times {
		if tm.From != o.from() {
			continue
		}
		t := tm.End - w.t0
		k := Mark{X: t, Y: w.valueAt(w.v, t), Above: distanceName(tm.Name), Open: distanceName(tm.Name)}
		if o.labelled(tm.Name) {
			v, h := uncert.Format(tm.Seconds, tm.U95)
			k.Text = shortName(tm.Name) + "  " + v + " s"
			if h != "" {
				k.Text = shortName(tm.Name) + "  " + v + " ±" + h + " s"
			}
		}
		marks = append(marks, k)
	}
	return named(marks)
}

// named puts the labelled marks first, so that they find a place first.
func named(marks []Mark) []Mark {
	var first, rest []Mark
	for _, m := range marks {
		if m.Text != "" {
			first = append(first, m)
		} else {
			rest = append(rest, m)
		}
	}
	return append(first, rest...)
}

func accelMarks(r *session.TimedRun, w *view, o Options) []Mark {
	var marks []Mark
	for _, tm := range r.Times {
		if tm.From != o.from() || !o.labelled(tm.Name) {
			continue
		}
		t := tm.End - w.t0
		marks = append(marks, Mark{X: w.valueAt(w.v, t), Y: w.valueAt(w.a, t), Text: shortName(tm.Name),
			Above: true, Open: distanceName(tm.Name)})
	}
	return marks
}

func distanceName(name string) bool { return !strings.HasPrefix(name, "0-") }

// shortName leaves the zero out of "0-60 mph": the axis begins there.
func shortName(name string) string { return strings.TrimPrefix(name, "0-") }

// rawSpeed is the samples that were used, in the view's units.
func rawSpeed(r *session.TimedRun, w *view) (t, v []float64) {
	for i := range r.RawT {
		if i < len(r.RawOut) && r.RawOut[i] || i >= len(r.RawV) {
			continue
		}
		t = append(t, r.RawT[i]-w.t0)
		v = append(v, r.RawV[i]/w.per)
	}
	return t, v
}

// rawAccel is the accelerometer's samples against the speed of their instant, or
// the differences of neighbouring speeds where there is no accelerometer.
func rawAccel(r *session.TimedRun, w *view) (v, a []float64) {
	if len(r.RawAccelT) > 0 {
		for i, t := range r.RawAccelT {
			v = append(v, w.valueAt(w.v, t-w.t0))
			a = append(a, at(r.RawAccel, i)/unit.GravityStandard)
		}
		return v, a
	}
	t, raw := rawSpeed(r, w)
	for i := 1; i < len(t); i++ {
		if dt := t[i] - t[i-1]; dt > 0 {
			v = append(v, w.valueAt(w.v, (t[i]+t[i-1])/2))
			a = append(a, (raw[i]-raw[i-1])*w.per/dt/unit.GravityStandard)
		}
	}
	return v, a
}

// timesInWords lists the labelled targets for the description.
func timesInWords(r *session.TimedRun, o Options) string {
	var parts []string
	for _, tm := range r.Times {
		if tm.From == o.from() && o.labelled(tm.Name) {
			v, h := uncert.Format(tm.Seconds, tm.U95)
			s := tm.Name + " in " + v
			if h != "" {
				s += " ± " + h
			}
			parts = append(parts, s+" s")
		}
	}
	if len(parts) == 0 {
		return "No target was reached."
	}
	how := "from rest"
	if o.from() == timing.FromRollout {
		how = "with 1 ft rollout"
	}
	return strings.Join(parts, ", ") + ", " + how + "."
}

func maximum(x []float64) float64 {
	m := math.Inf(-1)
	for _, v := range x {
		if finite(v) && v > m {
			m = v
		}
	}
	return m
}

func minimum(x []float64) float64 {
	m := math.Inf(1)
	for _, v := range x {
		if finite(v) && v < m {
			m = v
		}
	}
	return m
}
