package figure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session"
	"fromrest/pkg/session/history"
	"fromrest/pkg/unit"
)

// ErrNoHistory is returned by History where no session has a date.
var ErrNoHistory = errors.New("no session has a date and a time")

// History draws the times of a vehicle's modes by date, each with its interval within the session.
func History(all []history.Series, o Options) (*Figure, error) {
	var first, last time.Time
	for _, s := range all {
		for _, d := range s.Days {
			if d.Date.IsZero() {
				continue
			}
			if first.IsZero() || d.Date.Before(first) {
				first = d.Date
			}
			if d.Date.After(last) {
				last = d.Date
			}
		}
	}
	if first.IsZero() {
		return nil, ErrNoHistory
	}
	f := &Figure{Title: unit.Printed(all[0].Target) + " by date", Size: o.size(), XTitle: "days since " + first.UTC().Format(time.DateOnly), YTitle: "time, s",
		Note: "Bars: the 95 % interval within the session."}
	f.Desc = fmt.Sprintf("Times of %d modes by date.", len(all))
	for i, s := range all {
		f.Key = append(f.Key, modeEntry(i, session.Called(s.Mode), len(s.Days)))
	}
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		lo, hi := math.Inf(1), math.Inf(-1)
		for i, s := range all {
			line := &Curve{Style: t.Line(i)}
			var bars []plot.Plotter
			for _, d := range s.Days {
				if d.Date.IsZero() {
					continue
				}
				x := d.Date.Sub(first).Hours() / 24
				line.X, line.Y = append(line.X, x), append(line.Y, d.Mean)
				half := d.U95
				if !finite(half) {
					half = 0
				}
				lo, hi = min(lo, d.Mean-half), max(hi, d.Mean+half)
				bars = append(bars, straight(x, d.Mean-half, x, d.Mean+half, draw.LineStyle{Color: t.Series(i), Width: 1}))
			}
			p.Add(line, &Dots{X: line.X, Y: line.Y, Color: t.Series(i), Radius: 2})
			p.Add(bars...)
		}
		room := math.Max((hi-lo)/12, 0.02)
		span := math.Max(last.Sub(first).Hours()/24, 1)
		p.X.Min, p.X.Max = -span/30, span*31/30
		p.Y.Min, p.Y.Max = lo-room, hi+room
		return p
	}
	return f, nil
}
