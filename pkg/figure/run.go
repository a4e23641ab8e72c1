package figure

import (
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

// SpeedTime draws a run's speed against time with its targets marked, the band
// of 95 % and the samples it was made from.
func SpeedTime(r *session.TimedRun, o Options) (*Figure, error) {
	w, err := newView(r, o)
	if err != nil {
		return nil, err
	}
	f := &Figure{Title: title(r, "speed"), Size: o.size(), XTitle: o.xTitle(ByTime), YTitle: o.speedTitle()}
	f.Desc = fmt.Sprintf("Speed of run %s against time. %s", r.ID, timesInWords(r, o))
	series := o.Series([]*session.TimedRun{r})[0]
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		lowest, highest := extent(w.v)
		p.X.Min, p.X.Max = math.Min(w.t[0], 0), w.t[len(w.t)-1]
		p.Y.Min, p.Y.Max = math.Min(lowest, 0), niceTop(highest, 6)
		rt, rv := rawSpeed(r, w)
		addCurve(p, t, series, &Curve{X: w.t, Y: w.v}, w.sv, speedMarks(r, w, o),
			&Dots{X: rt, Y: rv, Color: t.Soft().Fade(0.55), Radius: 1.1},
			&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}})
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
	f := &Figure{Title: title(r, "acceleration"), Size: o.size(), XTitle: o.speedTitle(), YTitle: "acceleration, g"}
	f.Desc = fmt.Sprintf("Acceleration of run %s against speed, up to %s g.", r.ID, uncert.RoundHalfUp(maximum(w.a), 2))
	dx, dy := rawAccel(r, w)
	series := o.Series([]*session.TimedRun{r})[0]
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		_, hi := edges(w.a, w.sa)
		slowest, fastest := extent(w.v)
		lowest, highest := extent(w.a)
		p.X.Min, p.X.Max = math.Min(0, slowest), niceTop(fastest, 8)
		p.Y.Min, p.Y.Max = math.Min(0, lowest*1.05), niceTop(math.Max(maximum(hi), highest), 6)
		addCurve(p, t, series, &Curve{X: w.v, Y: w.a}, w.sa, accelMarks(r, w, o),
			&Dots{X: dx, Y: dy, Color: t.Soft().Fade(0.45), Radius: 1})
		return p
	}
	return f, nil
}

// addCurve draws a run's curve in the series of its mode over its band of 95 % and
// what stands behind it, with its marks. sd are the standard deviations of the curve's
// values.
func addCurve(p *plot.Plot, t *Theme, series int, line *Curve, sd []float64, marks []Mark, behind ...plot.Plotter) {
	lo, hi := edges(line.Y, sd)
	line.Style = t.Line(series)
	p.Add(&Band{X: line.X, Lo: lo, Hi: hi, Color: t.Series(series).Fade(0.2)})
	p.Add(behind...)
	p.Add(line, &Marks{Points: marks, Avoid: []*Curve{line}, Theme: t, Color: t.Series(series)})
}

func title(r *session.TimedRun, what string) string {
	if r.Mode != "" && !strings.HasPrefix(r.ID, r.Mode+"#") {
		return r.ID + ", " + r.Mode + ": " + what
	}
	return r.ID + ": " + what
}

// speedMarks are the targets the run reached, where they lie on the curve.
func speedMarks(r *session.TimedRun, w *view, o Options) []Mark {
	var labelled, dots []Mark // the labelled ones go first, so that they find a place first
	for _, tm := range r.Times {
		if !o.marked(&tm) {
			continue
		}
		t := tm.End - w.t0
		k := Mark{X: t, Y: interpolate(w.t, w.v, t), Above: distanceName(tm.Name), Open: distanceName(tm.Name)}
		if o.labelled(tm.Name) {
			k.Text = shortName(tm.Name) + "  " + withHalf(tm.Seconds, tm.U95, " ±") + " s"
			labelled = append(labelled, k)
		} else {
			dots = append(dots, k)
		}
	}
	return append(labelled, dots...)
}

func accelMarks(r *session.TimedRun, w *view, o Options) []Mark {
	var marks []Mark
	for _, tm := range r.Times {
		if !o.marked(&tm) || !o.labelled(tm.Name) {
			continue
		}
		t := tm.End - w.t0
		marks = append(marks, Mark{X: interpolate(w.t, w.v, t), Y: interpolate(w.t, w.a, t), Text: shortName(tm.Name),
			Above: true, Open: distanceName(tm.Name)})
	}
	return marks
}

func distanceName(name string) bool { return !strings.HasPrefix(name, "0-") }

// shortName leaves the zero out of "0-60 mph": the axis begins there.
func shortName(name string) string { return unit.Printed(strings.TrimPrefix(name, "0-")) }

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
			v = append(v, interpolate(w.t, w.v, t-w.t0))
			a = append(a, at(r.RawAccel, i)/unit.GravityStandard)
		}
		return v, a
	}
	t, raw := rawSpeed(r, w)
	for i := 1; i < len(t); i++ {
		if dt := t[i] - t[i-1]; dt > 0 {
			v = append(v, interpolate(w.t, w.v, (t[i]+t[i-1])/2))
			a = append(a, (raw[i]-raw[i-1])*w.per/dt/unit.GravityStandard)
		}
	}
	return v, a
}

// timesInWords lists the labelled targets for the description.
func timesInWords(r *session.TimedRun, o Options) string {
	var parts []string
	for _, tm := range r.Times {
		if o.marked(&tm) && o.labelled(tm.Name) {
			parts = append(parts, unit.Printed(tm.Name)+" in "+withHalf(tm.Seconds, tm.U95, " ± ")+" s")
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
