package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Allowance returns the standard deviation allowed for run-to-run scatter of a
// time of the given length, both in s.
func Allowance(seconds float64) float64 { return max(AllowanceShare*seconds, AllowanceLeast) }

// modes summarises each mode.
func (j *judged) modes(all []Run) []Mode {
	out := make([]Mode, len(j.names))
	for m, name := range j.names {
		x := j.seconds(m)
		s := stats.Describe(x)
		o := Mode{Name: name, N: s.N, Mean: s.Mean, SD: s.SD, Best: slices.Min(x), Scatter: math.Sqrt(j.fit.Modes[m]),
			TwoWay: math.NaN(), TwoWayU95: math.NaN(), Way: math.NaN(), WayU95: math.NaN()}
		d := j.fit.Design
		o.Adjusted = j.fit.Of(d.Adjusted(m)).Value
		o.U95 = j.halfOf(m, d.Mean(m))
		j.twoWay(m, &o)
		if c := d.Direction(m); c != nil {
			e := j.fit.Of(c)
			o.Way, o.WayU95 = e.Value, half(e)
		}
		for _, r := range all {
			o.Left += b2i(r.Mode == name && !r.Counted)
		}
		out[m] = o
	}
	return out
}

// halfOf is the half-width of the interval of a mode's mean. Runs that cannot show
// their scatter leave the allowance, which their single times are worth.
func (j *judged) halfOf(m int, c *contrast.Contrast) float64 {
	if e := j.fit.Of(c); !math.IsNaN(e.SE) {
		return half(e)
	}
	x := j.seconds(m)
	a := Allowance(stats.Describe(x).Mean)
	noise, shared := j.known.Noise[m], j.known.Shared[m]
	return uncert.Z95 * math.Sqrt((a*a+noise*noise)/float64(len(x))+shared*shared)
}

// twoWay fills the means of both directions and their mean.
func (j *judged) twoWay(m int, o *Mode) {
	for w, heading := range j.ways {
		var x []float64
		for i, r := range j.runs {
			if j.mode[i] == m && (j.dir[i] > 0) == (w == 1) {
				x = append(x, r.Seconds)
			}
		}
		if len(x) > 0 {
			o.Directions = append(o.Directions, Direction{Heading: heading, N: len(x), Mean: stats.Describe(x).Mean})
		}
	}
	if len(o.Directions) == 2 {
		o.TwoWay = (o.Directions[0].Mean + o.Directions[1].Mean) / 2
		o.TwoWayU95 = j.halfOf(m, j.fit.Design.TwoWay(m))
	}
}

// model describes the fit for a reader.
func (j *judged) model() Model {
	d := j.fit.Design
	m := Model{Terms: d.Terms, Dropped: d.Dropped, DF: float64(d.DF), Residual: math.Sqrt(j.fit.Pooled), Drift: math.NaN(), DriftU95: math.NaN()}
	switch {
	case d.DF == 0:
		m.ScatterFrom = "nothing: these runs cannot show their scatter"
	case j.past != nil && j.past.SD > 0:
		m.ScatterFrom = joined + j.past.From
	default:
		m.ScatterFrom = "these runs"
	}
	if c := d.Drift(); c != nil {
		e := j.fit.Of(c)
		m.Drift, m.DriftU95 = e.Value, half(e)
		m.DriftTold = math.Abs(e.Value) > contrast.CriticalAt(Alpha/contrast.Trends, 2).At(e.DF)*e.SE
	}
	if len(j.ways) == 2 {
		m.Towards = [2]float64{j.ways[0], j.ways[1]}
	}
	return m
}

// said puts a term in words: "runs towards 244° were 0.80 s quicker than runs
// towards 64°".
func (t *Target) said() []string {
	var out []string
	if line := t.directionSaid(); line != "" {
		out = append(out, line)
	}
	if d := t.Model.Drift; t.Model.DriftTold {
		word := "slower"
		if d < 0 {
			word = "quicker"
		}
		v, h := uncert.Format(math.Abs(d), t.Model.DriftU95)
		out = append(out, fmt.Sprintf("each run was %s s (±%s) %s than the one before", v, h, word))
	}
	if line := t.Model.gapSaid(); line != "" {
		out = append(out, line)
	}
	return out
}

// gapSaid says how the times went with the gap between starts, "" where it was not looked for.
func (m *Model) gapSaid() string {
	g := &m.Gap
	switch {
	case *g == (contrast.Trend{}):
		return ""
	case g.Why != "":
		return "whether times go with the gap between starts cannot be told: " + g.Why
	}
	v, h := uncert.Format(math.Abs(g.Slope)*aMinute, g.U95*aMinute)
	switch {
	case !g.Told:
		v, h = uncert.Format(g.Slope*aMinute, g.U95*aMinute)
		return fmt.Sprintf("no trend with the gap between starts shows: %s s (±%s) for each minute of it", strings.ReplaceAll(v, "-", "−"), h)
	case g.Slope > 0:
		return fmt.Sprintf("times were %s s (±%s) longer for each minute of gap before the start", v, h)
	}
	return fmt.Sprintf("times were %s s (±%s) shorter for each minute of gap before the start", v, h)
}

// gaps are how long before each run the start before it was, in s; nil where no run has one.
func (d *data) gaps() []float64 {
	out, any := make([]float64, len(d.runs)), false
	for i, r := range d.runs {
		if out[i] = math.NaN(); r.Gap > 0 {
			out[i], any = r.Gap, true
		}
	}
	if !any {
		return nil
	}
	return out
}

// directionSaid says what the directions cost, of every mode where they differ.
func (t *Target) directionSaid() string {
	lo, hi := math.Inf(1), math.Inf(-1)
	shown := false
	for _, m := range t.Modes {
		if math.IsNaN(m.Way) {
			return ""
		}
		lo, hi = min(lo, m.Way), max(hi, m.Way)
		shown = shown || math.Abs(m.Way) > m.WayU95
	}
	if !shown || len(t.Modes) == 0 || lo < 0 && hi > 0 {
		return ""
	}
	quick, slow := t.Model.Towards[0], t.Model.Towards[1]
	if hi <= 0 {
		quick, slow, lo, hi = slow, quick, -hi, -lo
	}
	places := uncert.Places(t.Modes[0].WayU95, 2)
	by := uncert.RoundHalfUp(lo, places)
	if to := uncert.RoundHalfUp(hi, places); to != by {
		by += " to " + to
	}
	return fmt.Sprintf("runs towards %s were %s s quicker than runs towards %s", unit.Heading(quick), by, unit.Heading(slow))
}

// String lists the terms: "mode + direction + order, 4 residual degrees of
// freedom".
func (m Model) String() string {
	unit := "degrees"
	if m.DF == 1 {
		unit = "degree"
	}
	return fmt.Sprintf("%s, %g residual %s of freedom", strings.Join(m.Terms, " + "), m.DF, unit)
}
