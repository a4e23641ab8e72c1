package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/vehicle/driveline"
)

// WheelsText writes what each wheel does and the torque on every shaft.
func WheelsText(w io.Writer, title string, s *driveline.State) error {
	text := document.Lines{title, fmt.Sprintf("  %-12s %9s %9s %11s %9s  %s", "wheel", "load, N", "grip, N", "torque, Nm", "force, N", "does")}
	for i, x := range s.Wheel {
		text = append(text, fmt.Sprintf("  %-12s %9.0f %9.0f %11.0f %9.0f  %s", driveline.WheelName(i), x.Load, x.Limit, x.Torque, x.Thrust, s.Does(i)))
	}
	for _, l := range shaftLines(s) {
		text = append(text, "  "+l)
	}
	return document.Text(w, text)
}

// WheelValues reads values of wheels such as "fl=0.1", by wheel; left is the first text
// that is none, or that names a wheel again.
func WheelValues(texts []string) (values map[int]float64, left string) {
	values = map[int]float64{}
	for _, text := range texts {
		name, value, _ := strings.Cut(text, "=")
		set, other := WheelSet([]string{name})
		x, err := strconv.ParseFloat(value, 64)
		if len(other) > 0 || err != nil || !(x >= 0) || math.IsInf(x, 0) {
			return values, text
		}
		k := slices.Index(set[:], true)
		if _, twice := values[k]; twice {
			return values, text
		}
		values[k] = x
	}
	return values, ""
}

// WheelSet are the wheels named fl, fr, rl and rr; left are the names from the first on
// that is none.
func WheelSet(names []string) (set [driveline.Wheels]bool, left []string) {
	for i, name := range names {
		k := slices.Index([]string{"fl", "fr", "rl", "rr"}, name) // in the order of driveline's wheels
		if k < 0 {
			return set, names[i:]
		}
		set[k] = true
	}
	return set, nil
}

// shaftLines say what the shafts carry and whether the vehicle moves off.
func shaftLines(s *driveline.State) []string {
	verdict := fmt.Sprintf("does not move: %.0f N needed, %.0f N there", s.Resistance, s.Thrust)
	if s.Moves {
		verdict = fmt.Sprintf("the vehicle moves off at up to %.2f m/s²", s.Accel)
	}
	return append([]string{
		fmt.Sprintf("shafts: from the gearbox %.0f N·m, front propeller shaft %.0f N·m, rear propeller shaft %.0f N·m", s.Gearbox, s.FrontShaft, s.RearShaft),
		fmt.Sprintf("together %.0f N against %.0f N: %s (modelled)", s.Thrust, s.Resistance, verdict),
	}, s.Notes...)
}

// WheelsHTML writes what each wheel does and the torque on every shaft as one
// self-contained page with the driveline drawn from above; by is what made it.
func WheelsHTML(w io.Writer, title, by string, c *driveline.Chassis, s *driveline.State) error {
	table := document.TableOf(document.Titled, "", "wheel", "load, N", "grip, N", "torque, N·m", "force, N", "does")
	table.Label = "Wheels"
	for i, x := range s.Wheel {
		cells := each([]float64{x.Load, x.Limit, x.Torque, x.Thrust}, func(v float64) string { return fmt.Sprintf("%.0f", v) })
		table.Add(driveline.WheelName(i), append(cells, s.Does(i))...)
	}
	drawn := document.Markup(fmt.Sprintf("<figure>%s</figure>\n", figure.Driveline(title, c, s).InlineSVG("wheels")))
	cautions := append([]string{"Never stage wheels in the air or without grip on a road."}, explainCautions()...)
	return sectionPage(w, title, "The most this driveline can push on such a ground, by the sheet's data (modelled).",
		section("explain", "Wheels and shafts", append([]document.Block{drawn, table, lines(shaftLines(s))}, listed("Cautions", cautions)...)...), by)
}
