package report

import (
	"math"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// BrakingTable is the table of braking runs, a run a column; it has no columns
// where there are none.
func BrakingTable(res *session.Result) *Table {
	t := &Table{Title: "Braking"}
	var runs []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.Braking && r.Stop != nil {
			runs = append(runs, r)
			t.Columns = append(t.Columns, Column{Name: r.ID, Mode: r.Mode, Struck: !r.Counted, N: 1})
		}
	}
	unitName, per := SpeedUnit(res.Settings.Units)
	t.addRow(Row{Section: SectionRun, Name: "begin"}, runs, func(r *session.TimedRun) Cell {
		return Cell{X: math.NaN(), Text: r.Launch.UTC().Format("15:04:05.00")}
	})
	t.addRow(Row{Section: SectionRun, Name: "from"}, runs, func(r *session.TimedRun) Cell {
		return Cell{X: math.NaN(), Text: uncert.RoundHalfUp(r.Stop.InitialSpeed/per, 1) + " " + unitName}
	})
	quantity := func(name, unitName string, f func(*session.TimedRun) (x, u95 float64)) {
		t.addRow(Row{Section: SectionRun, Name: name, Unit: unitName}, runs, func(r *session.TimedRun) Cell {
			x, u := f(r)
			if !(x > 0) {
				return none()
			}
			return Cell{X: x, U95: u}
		})
	}
	quantity("time", "s", func(r *session.TimedRun) (float64, float64) { return r.Stop.Seconds, r.Stop.SecU95 })
	quantity("distance", "m", func(r *session.TimedRun) (float64, float64) { return r.Stop.Distance, r.Stop.U95 })
	quantity("corrected", "m", func(r *session.TimedRun) (float64, float64) { return r.Stop.Corrected, r.Stop.CorU95 })
	quantity("MFDD", "g", func(r *session.TimedRun) (float64, float64) {
		return r.Stop.MFDD / unit.GravityStandard, r.Stop.MFDDU95 / unit.GravityStandard
	})
	for i, r := range runs {
		if r.Stop.Nominal > 0 {
			t.Rows[1].Cells[i].Notes = []int{t.note("distances are corrected to " +
				uncert.RoundHalfUp(r.Stop.Nominal/per, 1) + " " + unitName + " by the square of the speeds")}
		}
	}
	return t
}
