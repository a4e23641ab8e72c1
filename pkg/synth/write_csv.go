package synth

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// CSVOptions shapes a CSV log. The zero value writes metres per second.
type CSVOptions struct {
	KMH bool // speed in km/h instead of m/s
}

// WriteCSV writes the primary track as a table with a header, commas, decimal
// points and ISO 8601 times. An absent quantity is an empty cell.
func WriteCSV(w io.Writer, rec *recording.Recording, opts CSVOptions) error {
	tr := rec.Primary()
	if tr == nil {
		return errNoTrack
	}
	per, speed := 1.0, "Speed (m/s)"
	if opts.KMH {
		per, speed = unit.KMH, "Speed (km/h)"
	}
	cw := csv.NewWriter(w)
	cw.UseCRLF = true
	rows := [][]string{{"UTC", speed, "Course (deg)", "Latitude (deg)", "Longitude (deg)", "Altitude (m)"}}
	for i := range tr.Len() {
		rows = append(rows, []string{recording.Instant(tr.NanoAt(i)).Format("2006-01-02T15:04:05.0000Z"),
			decimal(tr.Value(recording.Speed, i)/per, 4), decimal(tr.Value(recording.Course, i), 2),
			decimal(tr.Value(recording.LatDeg, i), 9), decimal(tr.Value(recording.LonDeg, i), 9),
			decimal(tr.Value(recording.Altitude, i), 2)})
	}
	return cw.WriteAll(rows)
}

// decimal prints x with the given number of decimals, nothing where it is absent.
func decimal(x float64, decimals int) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}
