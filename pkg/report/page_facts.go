package report

import (
	"strings"
	"time"

	"fromrest/pkg/document"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// sheetFacts is what a session sheet says of the session, for the head of a
// report: only what was given.
func sheetFacts(sh *sheet.Sheet) []document.Term {
	if sh == nil {
		return nil
	}
	c, date, mass := &sh.Conditions, "", ""
	if !sh.Date.IsZero() {
		date = sh.Date.Format(time.DateOnly)
	}
	if sh.Vehicle.Mass > 0 {
		mass = trimZeros(sh.Vehicle.Mass, 0) + " kg as tested"
	}
	out := []document.Term{{Name: "date", Text: date}, {Name: "place", Text: sh.Place}, {Name: "vehicle", Text: sh.Vehicle.Name}, {Name: "mass", Text: mass}}
	for _, t := range conditionTerms(sh) {
		switch {
		case t.Name == "wind" && c.Gust != nil && len(sh.Winds) == 0:
			t.Text += ", gusts " + trimZeros(*c.Gust, 1) + " m/s"
		case t.Name == "grade" && c.GradeHeading != nil:
			t.Text += " rising towards " + unit.Heading(*c.GradeHeading)
		}
		out = append(out, t)
	}
	for _, m := range sh.Modes {
		out = append(out, document.Term{Name: "mode " + m.Name, Text: m.Description})
	}
	return filled(append(out, document.Term{Name: "notes", Text: sh.Notes})...)
}

// Head is what a sheet says at its head; each text may be "".
type Head struct {
	Vehicle, Mass, Place, Date string
	Conditions                 string
}

// HeadOf is the head of a sheet, which may be nil.
func HeadOf(sh *sheet.Sheet) Head {
	var h Head
	var said []string
	for _, t := range sheetFacts(sh) {
		switch t.Name {
		case "vehicle":
			h.Vehicle = t.Text
		case "mass":
			h.Mass = t.Text
		case "place":
			h.Place = t.Text
		case "date":
			h.Date = t.Text
		case "surface":
			said = append(said, t.Text)
		case "notes":
		default:
			if !strings.HasPrefix(t.Name, "mode ") {
				said = append(said, t.Name+" "+t.Text)
			}
		}
	}
	h.Conditions = strings.Join(said, ", ")
	return h
}

// conditionTerms are the surface, the air, the wind and the grade that a sheet
// gives, of each only what was given.
func conditionTerms(sh *sheet.Sheet) []document.Term {
	c := &sh.Conditions
	out := filled(document.Term{Name: "surface", Text: c.Surface})
	plain, percent := func(x float64) float64 { return x }, func(x float64) float64 { return 100 * x }
	for _, q := range []struct {
		name   string
		x      *float64
		in     func(float64) float64 // the unit that is shown
		places int
		unit   string
	}{
		{"temperature", c.Temperature, func(x float64) float64 { return x - unit.ZeroCelsius }, 1, "°C"},
		{"air pressure", c.Pressure, func(x float64) float64 { return x / 100 }, 1, "hPa"},
		{"humidity", c.Humidity, percent, 0, "%"}, {"wind", c.Wind, plain, 1, "m/s"}, {"grade", c.Grade, percent, 2, "%"},
	} {
		if q.name == "wind" && len(sh.Winds) > 0 {
			out = append(out, document.Term{Name: q.name, Text: windsSaid(sh.Winds)})
			continue
		}
		if q.x == nil {
			continue
		}
		text := trimZeros(q.in(*q.x), q.places) + " " + q.unit
		if q.name == "wind" && c.WindFrom != nil {
			text += " from " + unit.Heading(*c.WindFrom)
		}
		out = append(out, document.Term{Name: q.name, Text: text})
	}
	return out
}

// windsSaid are the readings of the wind over a day.
func windsSaid(winds []sheet.WindReading) string {
	return strings.Join(each(winds, func(w sheet.WindReading) string {
		s := trimZeros(w.Speed, 1) + " m/s from " + unit.Heading(w.From)
		if w.Gust > 0 {
			s += ", gusts " + trimZeros(w.Gust, 1) + " m/s"
		}
		return s + " at " + time.Time{}.Add(w.At).Format("15:04")
	}), "; ") + " UTC"
}
