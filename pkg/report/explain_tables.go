package report

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
)

// predictedTable sets a mode's predictions beside the means of its measured times;
// it has no rows where nothing could be predicted.
func predictedTable(p *explain.Prediction, e *explain.Explanation) *document.Table {
	table := document.TableOf(document.Titled, "From rest, predicted (modelled) beside the measured mean", "to", "predicted, s", "measured, s", "runs", "off by, %")
	table.Label = table.Title + ", " + p.Mode
	if p.Run == nil {
		return table
	}
	for _, t := range explain.Targets {
		predicted, measured, runs, off := "out of reach", document.Unknown, document.Unknown, document.Unknown
		if x, ok := p.Time(t); ok {
			predicted = scaled(x, 1)
		}
		if m := e.Mean(p.Mode, t); m.N > 0 {
			measured, runs = plusMinus(m.X, m.U95), strconv.Itoa(m.N)
			if d, ok := e.OffBy(p, t); ok {
				off = inTable(d, 1, true)
			}
		}
		table.Add(strings.TrimPrefix(t.Name, "0-"), predicted, measured, runs, off)
	}
	return table.WithoutEmpty()
}

// shiftTable is every shift seen.
func shiftTable(e *explain.Explanation) *document.Table {
	name, per := SpeedUnit(e.Units)
	table := document.TableOf(document.Titled, "Speed and duration measured, cost modelled", "run", "at, "+name, "gears", "takes, s", "costs, s")
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		for _, s := range r.Shifts {
			gears := document.Unknown
			if s.From > 0 {
				gears = fmt.Sprintf("%d to %d, %s", s.From, s.To, s.GearBasis)
			}
			table.Add(r.Run.ID, inTable(s.Speed, per, false), gears, inTable(s.Duration, 1, false), inTable(s.Cost, 1, false))
		}
	}
	return table.WithoutEmpty()
}

// shiftSamples are how many samples a gap in thrust takes to be seen (accuracy as measured on
// simulated shifts: 0.3 s at 10 Hz).
const shiftSamples = 3.0

// noShiftLines say of the other runs why they show no shift.
func noShiftLines(e *explain.Explanation) []string {
	if explain.SingleSpeed(e.Sheet) {
		return nil
	}
	of := map[string][]string{}
	var order []string
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if len(r.Shifts) > 0 {
			continue
		}
		found := "none found."
		if q := &r.Run.Log.Quality; q.Rate > 0 && !q.Fused() { // an accelerometer sees shorter ones
			found += fmt.Sprintf(" At %.3g Hz no gap under about %.2g s is seen.", q.Rate, shiftSamples/q.Rate)
		}
		why := cmp.Or(r.NoShifts, found)
		if of[why] == nil {
			order = append(order, why)
		}
		of[why] = append(of[why], r.Run.ID)
	}
	var out []string
	for _, why := range order {
		out = append(out, and(of[why])+": "+why)
	}
	return out
}

// forceSpeeds are the speeds at which forces are listed, in the reader's unit.
var forceSpeeds = []float64{10, 20, 30, 40, 50, 60, 70, 80, 100, 120, 140}

// forceTable is each mode's force and power at a few speeds.
func forceTable(e *explain.Explanation) *document.Table {
	name, per := SpeedUnit(e.Units)
	head := []string{name}
	basis := explain.Modelled
	for _, m := range e.Traced.Modes {
		if m.Basis == explain.Assumed {
			basis = m.Basis
		}
		head = append(head, m.Mode+", kN", m.Mode+", kW", m.Mode+", N/kg")
	}
	table := document.TableOf(document.Titled, fmt.Sprintf("By the traces (%s)", basis), head...)
	table.Note = "Rotating parts, drag, rolling resistance and grade are in it. – is a speed at which a run was shifting, or that it did not reach."
	for _, v := range forceSpeeds {
		var cells []string
		any := false
		for _, m := range e.Traced.Modes {
			force, power, specific := document.Unknown, document.Unknown, document.Unknown
			p, ok := m.At(v * per)
			switch {
			case !ok:
			case math.IsNaN(p.Force.X):
				specific = inTable(p.Specific, 1, false)
			default:
				force, power = inTable(p.Force, 1e3, false), inTable(p.Power, 1e3, false)
			}
			cells = append(cells, force, power, specific)
			any = any || ok
		}
		if any {
			table.Add(uncert.RoundHalfUp(v, 0), cells...)
		}
	}
	return table.WithoutEmpty()
}

// gripTable is how much of the grip there is each run used.
func gripTable(t *explain.Traced) *document.Table {
	table := document.TableOf(document.Titled, "", "run", "at most, %", "mean before power limits, %")
	basis := explain.Basis("")
	for i := range t.Runs {
		u := &t.Runs[i].Grip
		if math.IsNaN(u.Peak.X) {
			continue
		}
		table.Add(t.Runs[i].Run.ID, inTable(u.Peak, 0.01, false), inTable(u.Mean, 0.01, false))
		table.Note, basis = u.Text, u.Basis
	}
	table.Title = fmt.Sprintf("Share that each run used (%s)", basis)
	return table.WithoutEmpty()
}

// limitNames are the words for what limits both modes.
var limitNames = map[string]string{explain.BandPower: "power, both", explain.BandTorque: "torque, both",
	explain.BandGrip: "grip, one or both", explain.BandMixed: "not told apart"}

// bandTable is the difference in wheel force of two modes, part by part.
func bandTable(e *explain.Explanation, b *explain.ForceBand) *document.Table {
	name, per := SpeedUnit(e.Units)
	table := document.TableOf(document.Titled, fmt.Sprintf("Wheel force of %s over that of %s at the same speed (%d and %d runs)", b.A, b.B, b.NA, b.NB),
		name, "gear", "limited by", "difference, %", "basis")
	for _, p := range b.Parts {
		gear := document.Unknown
		if p.Gear > 0 {
			gear = strconv.Itoa(p.Gear)
		}
		table.Add(fmt.Sprintf("%.0f to %.0f", p.From/per, p.To/per), gear, limitNames[p.Limit], inTable(p.Percent, 1, true), string(p.Basis))
	}
	return table.Shared(map[int]string{3: "Difference"}).WithoutEmpty()
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

// conditionTables are the conditions of the runs, and for each of a few targets
// what they cost in seconds beside the measured and the corrected time.
func conditionTables(e *explain.Explanation) []document.Block {
	if len(e.Conditions) == 0 {
		return nil
	}
	road := document.TableOf(document.Titled, "Road and wind along each run", "run", "head", "grade, %", "from", "head wind, m/s", "from")
	for i := range e.Conditions {
		c := &e.Conditions[i]
		road.Add(c.Run.ID, unit.Heading(c.Run.HeadingDeg), inTable(c.Grade, 0.01, true),
			from(c.GradeFrom), inTable(c.HeadWind, 1, true), from(c.HeadWindFrom))
	}
	out := []document.Block{road.Shared(map[int]string{2: "Grade", 4: "Head wind"})}
	var last *document.Table
	for _, t := range explain.Targets {
		if table := effectTable(e, t.Name); len(table.Rows) > 0 {
			out, last = append(out, table), table
		}
	}
	if last != nil {
		last.Note = "Seconds, + where it made the run slower. Measured times are the headline; effects are modelled with tractive force as a function of speed. " +
			"Corrected: on the level, in still air, in air of 25 °C and 99 kPa, as far as each is known (– is not)."
	}
	return out
}

// effectTable is what the conditions cost each run in one time.
func effectTable(e *explain.Explanation, target string) *document.Table {
	table := document.TableOf(document.Titled, target+" with rollout, s (measured; corrected time and effects modelled)", "run", "measured", "corrected", "grade", "wind", "air", "power")
	for i := range e.Conditions {
		c := &e.Conditions[i]
		for _, f := range c.Effects {
			if f.Name == target && f.From == timing.FromRollout {
				table.Add(c.Run.ID, inTable(f.Headline, 1, false), inTable(f.Corrected, 1, false),
					inTable(f.Grade, 1, true), inTable(f.HeadWind, 1, true), inTable(f.Air, 1, true), inTable(f.Power, 1, true))
			}
		}
	}
	return table.WithoutEmpty()
}

// from says where a grade or a head wind comes from and what it rests on.
func from(source string) string {
	if source == "" {
		return document.Unknown
	}
	return source + ", " + string(explain.BasisOf(source))
}

// profileTable is every clause of the published procedures held against the
// session; sectioned, each procedure stands above its clauses.
func profileTable(e *explain.Explanation, sectioned bool) *document.Table {
	head, title := []string{"procedure", "limit", "here", "verdict", "source"}, "Published procedures, clause by clause"
	if sectioned {
		head, title = head[1:], ""
	}
	t := document.TableOf(document.Titled, title, head...)
	t.Note = "Being inside does not make a test conform: surface, instruments and averaging have clauses of their own. The source says how well a clause was read."
	for _, p := range air.Profiles() {
		for _, f := range e.Profiles[p.Name] {
			cells := []string{p.Name, f.Clause.Text(), findingValue(f), string(f.Verdict), string(f.Clause.Read)}
			if sectioned {
				t.Add(cells[1], cells[2:]...)
				t.Rows[len(t.Rows)-1].Section = profileHead(e, p)
				continue
			}
			t.Add(cells[0], cells[1:]...)
		}
	}
	return t
}

// findingValue prints what a clause was held against, in the clause's unit.
func findingValue(f air.Finding) string {
	per, v := 1.0, f.Value
	switch f.Clause.Quantity {
	case air.Grade, air.Humidity:
		per = 0.01
	case air.Temperature:
		v.X -= unit.ZeroCelsius
	}
	if v.U == 0 && !math.IsNaN(v.X) {
		return trimZeros(v.X/per, 3)
	}
	return inTable(v, per, false)
}

// profileHead is a published procedure and whether the session was inside it.
func profileHead(e *explain.Explanation, p air.Profile) string {
	return fmt.Sprintf("%s, %s: %s (%s)", p.Name, p.About, air.Overall(e.Profiles[p.Name]), p.Source)
}

// airLines say what the air was and what that rests on.
func airLines(e *explain.Explanation) []string {
	a := e.Air
	if a.Basis == "" {
		return []string{fmt.Sprintf("not known: temperature_c, pressure_hpa and humidity_percent would give it (%.4g kg/m³ is assumed for drag)", e.Density)}
	}
	from := a.From
	if a.Basis == explain.Measured {
		from = "measured, " + from
	}
	s := fmt.Sprintf("density %s kg/m³, density altitude %s m (%s)", inTable(a.Density, 1, false), inTable(a.Altitude, 1, false), from)
	p := "engine power: " + a.PowerFrom
	if !math.IsNaN(a.PowerFactor.X) {
		p = fmt.Sprintf("engine power in air of 25 °C and 99 kPa over power here %s (%s)", inTable(a.PowerFactor, 1, false), a.PowerFrom)
	}
	return []string{s, p}
}
