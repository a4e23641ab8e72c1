package synth

import (
	"bufio"
	"fmt"
	"io"
	"time"

	"fromrest/pkg/recording"
)

// WriteGPX writes the primary track as GPX 1.1, with speed and course in the
// track point extension where they are known. Fixes without a position cannot be
// written and are left out.
func WriteGPX(w io.Writer, rec *recording.Recording) error {
	tr := rec.Primary()
	if tr == nil {
		return errNoTrack
	}
	bw := bufio.NewWriter(w)
	fmt.Fprint(bw, `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="fromrest" xmlns="http://www.topografix.com/GPX/1/1" xmlns:gpxtpx="http://www.garmin.com/xmlschemas/TrackPointExtension/v2">
<trk><name>simulated</name><trkseg>
`)
	for i := range tr.Len() {
		f := tr.At(i)
		if !f.Has(recording.LatDeg) || !f.Has(recording.LonDeg) {
			continue
		}
		number := func(format string, c recording.Column) {
			if f.Has(c) {
				fmt.Fprintf(bw, format, f.Q[c])
			}
		}
		number(`<trkpt lat="%.9f"`, recording.LatDeg)
		number(` lon="%.9f">`, recording.LonDeg)
		number("<ele>%.2f</ele>", recording.Altitude)
		fmt.Fprintf(bw, "<time>%s</time>", f.Time.Round(time.Millisecond).Format("2006-01-02T15:04:05.000Z"))
		if f.Has(recording.Speed) || f.Has(recording.Course) {
			fmt.Fprint(bw, "<extensions><gpxtpx:TrackPointExtension>")
			number("<gpxtpx:speed>%.4f</gpxtpx:speed>", recording.Speed)
			number("<gpxtpx:course>%.2f</gpxtpx:course>", recording.Course)
			fmt.Fprint(bw, "</gpxtpx:TrackPointExtension></extensions>")
		}
		fmt.Fprint(bw, "</trkpt>\n")
	}
	fmt.Fprint(bw, "</trkseg></trk>\n</gpx>\n")
	return bw.Flush()
}
