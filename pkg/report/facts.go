package report

import (
	"time"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// SheetFacts is what a session sheet says of the session, for the head of a
// report: only what was given.
func SheetFacts(sh *sheet.Sheet) []Item {
	if sh == nil {
		return nil
	}
	var out []Item
	add := func(name, text string) {
		if text != "" {
			out = append(out, Item{Name: name, Text: text})
		}
	}
	num := func(name string, p *float64, per, offset float64, places int, unit string) {
		if p != nil {
			add(name, trimZeros((*p-offset)/per, places)+" "+unit)
		}
	}
	if !sh.Date.IsZero() {
		add("date", sh.Date.Format(time.DateOnly))
	}
	add("place", sh.Place)
	add("vehicle", sh.Vehicle.Name)
	if sh.Vehicle.Mass > 0 {
		add("mass", trimZeros(sh.Vehicle.Mass, 0)+" kg as tested")
	}
	c := &sh.Conditions
	add("surface", c.Surface)
	num("temperature", c.Temperature, 1, unit.ZeroCelsius, 1, "°C")
	num("air pressure", c.Pressure, 100, 0, 1, "hPa")
	num("humidity", c.Humidity, 0.01, 0, 0, "%")
	if c.Wind != nil {
		s := trimZeros(*c.Wind, 1) + " m/s"
		if c.WindFrom != nil {
			s += " from " + heading(*c.WindFrom)
		}
		if c.Gust != nil {
			s += ", gusts " + trimZeros(*c.Gust, 1) + " m/s"
		}
		add("wind", s)
	}
	if c.Grade != nil {
		s := trimZeros(100**c.Grade, 2) + " %"
		if c.GradeHeading != nil {
			s += " rising towards " + heading(*c.GradeHeading)
		}
		add("grade", s)
	}
	for _, m := range sh.Modes {
		add("mode "+m.Name, m.Description)
	}
	add("notes", sh.Notes)
	return out
}
