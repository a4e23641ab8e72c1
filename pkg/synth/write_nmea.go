package synth

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// NMEAOptions shapes an NMEA log. The zero value writes RMC, VTG and GGA of
// talker GN.
type NMEAOptions struct {
	// Decimals of knots and km/h. 0 takes them from the track's SpeedStep, or 3
	// where it has none; negative for whole numbers.
	Decimals int
	RMCOnly  bool
}

// errNoTrack is what a writer says of a recording it cannot write.
var errNoTrack = errors.New("the recording has no fixes")

// WriteNMEA writes the primary track as NMEA 0183 sentences with checksums, time
// in milliseconds. An absent quantity is an empty field.
func WriteNMEA(w io.Writer, rec *recording.Recording, opts NMEAOptions) error {
	tr := rec.Primary()
	if tr == nil {
		return errNoTrack
	}
	places := opts.Decimals
	if places == 0 {
		places = 3
		if tr.SpeedStep > 0 {
			const rounding = 1e-9
			places = int(math.Ceil(-math.Log10(tr.SpeedStep/unit.Knot) - rounding))
		}
	}
	places = max(0, places)
	bw := bufio.NewWriter(w)
	sentence := func(fields ...string) {
		body := strings.Join(fields, ",")
		sum := byte(0)
		for i := range len(body) {
			sum ^= body[i]
		}
		fmt.Fprintf(bw, "$%s*%02X\r\n", body, sum)
	}
	for i := range tr.Len() {
		f := tr.At(i)
		t := f.Time.Round(time.Millisecond)
		clock, course := t.Format("150405.000"), decimal(f.Q[recording.Course], 2)
		lat, lon := angle(f.Q[recording.LatDeg], 2, "N", "S"), angle(f.Q[recording.LonDeg], 3, "E", "W")
		knots := decimal(f.Q[recording.Speed]/unit.Knot, places)
		sentence("GNRMC", clock, "A", lat, lon, knots, course, t.Format("020106"), "", "", "A")
		if opts.RMCOnly {
			continue
		}
		sentence("GNVTG", course, "T", "", "M", knots, "N", decimal(f.Q[recording.Speed]/unit.KMH, places), "K", "A")
		sentence("GNGGA", clock, lat, lon, "1", decimal(f.Q[recording.Satellites], 0), decimal(f.Q[recording.HDOP], 1),
			decimal(f.Q[recording.Altitude], 2), "M", "0.0", "M", "", "")
	}
	return bw.Flush()
}

// angle is degrees, decimal minutes and the letter of the hemisphere: two fields,
// which are empty for NaN.
func angle(deg float64, width int, positive, negative string) string {
	if math.IsNaN(deg) {
		return ","
	}
	letter := positive
	if deg < 0 {
		letter, deg = negative, -deg
	}
	const unitsPerMinute = 1e7
	total := int64(math.Round(deg * 60 * unitsPerMinute))
	d, m := total/(60*unitsPerMinute), total%(60*unitsPerMinute)
	return fmt.Sprintf("%0*d%02d.%07d,%s", width, d, m/unitsPerMinute, m%unitsPerMinute, letter)
}
