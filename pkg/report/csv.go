package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// RunsCSV writes one line for each time of each run (RFC 4180), rounded by
// uncert.Format, with units in the header. Speeds are in the unit of the
// settings; the JSON carries full precision.
func RunsCSV(w io.Writer, res *session.Result) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	unitName, per := SpeedUnit(res.Settings.Units)
	err := out.Write([]string{"log", "mode", "run", "kind", "launch (UTC)", "heading (deg)", "counted", "excluded because",
		"flags", "target", "from", "time (s)", "95 % half-width (s)",
		"trap speed (" + unitName + ")", "trap 95 % half-width (" + unitName + ")",
		"speed at the mark (" + unitName + ")", "mark 95 % half-width (" + unitName + ")", "in doubt"})
	if err != nil {
		return err
	}
	for _, r := range res.Runs {
		for _, t := range append(append([]timing.Time{}, r.Times...), r.Pulls...) {
			s, h := printed(t.Seconds, t.U95)
			trap, trapH := printed(t.TrapSpeed/per, t.TrapU95/per)
			end, endH := printed(t.EndSpeed/per, t.EndU95/per)
			head := ""
			if !math.IsNaN(r.HeadingDeg) {
				head = uncert.RoundHalfUp(r.HeadingDeg, 1)
			}
			log := ""
			if r.Log != nil {
				log = r.Log.Path
			}
			err := out.Write([]string{log, r.Mode, r.ID, string(r.Kind), utc(r.Launch), head,
				strconv.FormatBool(r.Counted), r.Excluded, flagCodes(r), t.Name, string(t.From),
				s, h, trap, trapH, end, endH, t.Doubt})
			if err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// printed is uncert.Format with nothing for an unknown value; a speed of zero is
// unknown too.
func printed(x, u95 float64) (value, half string) {
	if !(x > 0) || math.IsInf(x, 0) {
		return "", ""
	}
	return uncert.Format(x, u95)
}
