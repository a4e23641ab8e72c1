package synth

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// CSVOptions shapes a CSV log. The zero value writes commas, decimal points, ISO
// 8601 times and metres per second.
type CSVOptions struct {
	Delimiter    string // "," if empty
	DecimalComma bool
	KMH          bool // speed in km/h instead of m/s
	Elapsed      bool // seconds since the first row instead of ISO 8601
	Decimals     int  // of the speed, 4 if 0
}

// row collects the cells of one line.
type row struct {
	opts  *CSVOptions
	cells []string
}

func (r *row) number(x float64, decimals int) {
	if math.IsNaN(x) {
		r.cells = append(r.cells, "")
		return
	}
	c := strconv.FormatFloat(x, 'f', decimals, 64)
	if r.opts.DecimalComma {
		c = strings.Replace(c, ".", ",", 1)
	}
	r.cells = append(r.cells, c)
}

func (r *row) instant(nano, first int64) {
	if r.opts.Elapsed {
		r.number(float64(nano-first)*1e-9, 4)
		return
	}
	r.cells = append(r.cells, recording.Instant(nano).Format("2006-01-02T15:04:05.0000Z"))
}

func (r *row) flush(w *bufio.Writer) {
	w.WriteString(strings.Join(r.cells, r.opts.Delimiter)) // an error is kept for Flush
	w.WriteString("\r\n")
	r.cells = r.cells[:0]
}

// timeHeader names the first column.
func (o *CSVOptions) timeHeader() string {
	if o.Elapsed {
		return "Time (s)"
	}
	return "UTC"
}

// WriteCSV writes the primary track as a table with a header.
func WriteCSV(w io.Writer, rec *recording.Recording, opts CSVOptions) error {
	tr := rec.Primary()
	if tr == nil {
		return errNoTrack
	}
	if opts.Delimiter == "" {
		opts.Delimiter = ","
	}
	if opts.Decimals == 0 {
		opts.Decimals = 4
	}
	per, name := 1.0, "Speed (m/s)"
	if opts.KMH {
		per, name = unit.KMH, "Speed (km/h)"
	}
	bw := bufio.NewWriter(w)
	r := row{opts: &opts, cells: []string{opts.timeHeader(), name, "Course (deg)", "Latitude (deg)", "Longitude (deg)", "Altitude (m)"}}
	r.flush(bw)
	for i := range tr.Len() {
		r.instant(tr.NanoAt(i), tr.NanoAt(0))
		r.number(tr.Value(recording.Speed, i)/per, opts.Decimals)
		r.number(tr.Value(recording.Course, i), 2)
		r.number(tr.Value(recording.LatDeg, i), 9)
		r.number(tr.Value(recording.LonDeg, i), 9)
		r.number(tr.Value(recording.Altitude, i), 2)
		r.flush(bw)
	}
	return bw.Flush()
}

// WriteAccelCSV writes the accelerometer's samples as a table with a header, in
// m/s². An accelerometer with a clock of its own always gets elapsed seconds.
func WriteAccelCSV(w io.Writer, rec *recording.Recording, opts CSVOptions) error {
	a := rec.Accel
	if a.Len() == 0 {
		return errNoTrack
	}
	if opts.Delimiter == "" {
		opts.Delimiter = ","
	}
	opts.Elapsed = opts.Elapsed || a.OwnClock
	bw := bufio.NewWriter(w)
	r := row{opts: &opts, cells: []string{opts.timeHeader(), "Accel X (m/s2)", "Accel Y (m/s2)", "Accel Z (m/s2)"}}
	r.flush(bw)
	for i := range a.NanoUTC {
		r.instant(a.NanoUTC[i], a.NanoUTC[0])
		r.number(a.X[i], 4)
		r.number(a.Y[i], 4)
		r.number(a.Z[i], 4)
		r.flush(bw)
	}
	return bw.Flush()
}

// WriteGPX writes the primary track as GPX 1.1, with speed and course in the
// track point extension where they are known. Fixes without a position cannot be
// written and are left out.
func WriteGPX(w io.Writer, rec *recording.Recording) error {
	tr := rec.Primary()
	if tr == nil {
		return errNoTrack
	}
	bw := bufio.NewWriter(w)
	bw.WriteString(`<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="fromrest" xmlns="http://www.topografix.com/GPX/1/1" xmlns:gpxtpx="http://www.garmin.com/xmlschemas/TrackPointExtension/v2">
<trk><name>simulated</name><trkseg>
`)
	num := func(x float64, decimals int) string { return strconv.FormatFloat(x, 'f', decimals, 64) }
	for i := range tr.Len() {
		f := tr.At(i)
		if !f.Has(recording.LatDeg) || !f.Has(recording.LonDeg) {
			continue
		}
		bw.WriteString(`<trkpt lat="` + num(f.Q[recording.LatDeg], 9) + `" lon="` + num(f.Q[recording.LonDeg], 9) + `">`)
		if f.Has(recording.Altitude) {
			bw.WriteString("<ele>" + num(f.Q[recording.Altitude], 2) + "</ele>")
		}
		bw.WriteString("<time>" + f.Time.Round(time.Millisecond).Format("2006-01-02T15:04:05.000Z") + "</time>")
		if f.Has(recording.Speed) || f.Has(recording.Course) {
			bw.WriteString("<extensions><gpxtpx:TrackPointExtension>")
			if f.Has(recording.Speed) {
				bw.WriteString("<gpxtpx:speed>" + num(f.Q[recording.Speed], 4) + "</gpxtpx:speed>")
			}
			if f.Has(recording.Course) {
				bw.WriteString("<gpxtpx:course>" + num(f.Q[recording.Course], 2) + "</gpxtpx:course>")
			}
			bw.WriteString("</gpxtpx:TrackPointExtension></extensions>")
		}
		bw.WriteString("</trkpt>\n")
	}
	bw.WriteString("</trkseg></trk>\n</gpx>\n")
	return bw.Flush()
}
