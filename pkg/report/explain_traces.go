package report

import (
	"fmt"
	"math"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/uncert"
)

// tracePart is one heading with its tables and lines.
type tracePart struct {
	Head  string
	Grids []grid
	Lines []string
}

// traceParts tell what the traces say of the vehicle: shifts, force and power,
// use of grip, and how modes differ. Nothing for an explanation without logs.
func traceParts(e *explain.Explanation) []tracePart {
	t := e.Traced
	if t == nil || len(t.Runs) == 0 {
		return nil
	}
	parts := []tracePart{{"Shifts", []grid{shiftGrid(e)}, noShiftLines(e)}, {"Force and power at the wheels", []grid{forceGrid(e)}, nil},
		{"Grip used", []grid{gripGrid(t)}, nil}}
	for i := range t.Bands {
		b := &t.Bands[i]
		parts = append(parts, tracePart{b.A + " against " + b.B, []grid{bandGrid(e, b)}, bandLines(b)})
	}
	var rest []string
	rest = append(rest, t.Load.Coasts...)
	if t.Load.Text != "" {
		rest = append(rest, t.Load.Text)
	}
	rest = append(rest, t.Assumed...)
	for _, m := range t.Missing {
		rest = append(rest, "missing "+m.Key+": would unlock "+m.Unlocks)
	}
	parts = append(parts, tracePart{"What the traces were read with", nil, rest})
	out := parts[:0]
	for _, p := range parts {
		var full []grid
		for _, g := range p.Grids {
			if len(g.Rows) > 0 {
				full = append(full, g)
			}
		}
		if p.Grids = full; len(full) > 0 || len(p.Lines) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// bandLines tell what of the difference of two modes is loss and what gearing.
func bandLines(b *explain.ForceBand) []string {
	var out []string
	more := func(v uncert.Value) (string, string) {
		return scaled(uncert.Value{X: math.Abs(v.X), U: v.U}, 1), moreLess(v.X)
	}
	switch x, word := more(b.Loss); {
	case math.IsNaN(b.Loss.X):
		out = append(out, "driveline loss: "+b.LossHow)
	case math.Abs(b.Loss.X) <= b.Loss.U95():
		out = append(out, fmt.Sprintf("driveline loss: no difference can be told, %s %% of wheel force (%s). %s", scaled(b.Loss, 1), b.LossBasis, b.LossHow))
	case b.LossBasis == explain.Assumed:
		out = append(out, fmt.Sprintf("engine power or driveline loss, not told apart: %s loses %s %% %s than %s (assumed). %s", b.A, x, word, b.B, b.LossHow))
	default:
		out = append(out, fmt.Sprintf("driveline loss: %s loses %s %% of wheel force %s than %s (%s). %s", b.A, x, word, b.B, b.LossBasis, b.LossHow))
	}
	switch x, word := more(b.Gearing); {
	case math.IsNaN(b.Gearing.X) || b.Gearing.U == 0:
		return append(out, "gearing: "+b.GearingHow)
	case math.Abs(b.Gearing.X) <= b.Gearing.U95():
		return append(out, fmt.Sprintf("gearing: no gain can be told, %s %% of wheel force (%s). %s", scaled(b.Gearing, 1), b.GearingBasis, b.GearingHow))
	default:
		return append(out, fmt.Sprintf("gearing: %s has %s %% of wheel force %s than %s (%s). %s", b.A, x, word, b.B, b.GearingBasis, b.GearingHow))
	}
}

// scaled prints a value over its unit with half of the 95 % interval.
func scaled(v uncert.Value, per float64) string { return plusMinus(v.X/per, v.U95()/per) }
