package synth

import (
	"bufio"
	"errors"
	"io"
	"math"
	"strconv"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// NMEAOptions shapes an NMEA log. The zero value writes RMC, VTG and GGA of
// talker GN with three decimals of knots.
type NMEAOptions struct {
	Talker string // GN if empty
	// Decimals of knots and km/h. 0 takes them from the track's SpeedStep, or 3
	// where it has none; negative for whole numbers.
	Decimals int
	RMCOnly  bool
	// XDR writes the accelerometer's samples in g as XDR sentences after the fix
	// they follow. They carry no time.
	XDR bool
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
	s := sentences{talker: opts.Talker, decimals: opts.Decimals}
	if s.talker == "" {
		s.talker = "GN"
	}
	if s.decimals == 0 {
		s.decimals = 3
		if tr.SpeedStep > 0 {
			s.decimals = max(0, int(math.Ceil(-math.Log10(tr.SpeedStep/unit.Knot)-1e-9)))
		}
	}
	s.decimals = max(0, s.decimals)
	bw := bufio.NewWriter(w)
	next := 0 // accelerometer sample not yet written
	for i := range tr.Len() {
		f := tr.At(i)
		f.Time = f.Time.Round(time.Millisecond)
		s.buf = s.buf[:0]
		s.rmc(&f)
		if !opts.RMCOnly {
			s.vtg(&f)
			s.gga(&f)
		}
		for opts.XDR && next < rec.Accel.Len() && (i+1 == tr.Len() || rec.Accel.NanoUTC[next] < tr.NanoAt(i+1)) {
			s.xdr(rec.Accel, next)
			next++
		}
		if _, err := bw.Write(s.buf); err != nil {
			return err
		}
	}
	return bw.Flush()
}

// sentences builds sentences into one buffer.
type sentences struct {
	talker   string
	decimals int
	buf      []byte
	start    int
}

func (s *sentences) begin(kind string) {
	s.start = len(s.buf) + 1
	s.buf = append(s.buf, '$')
	s.buf = append(s.buf, s.talker...)
	s.buf = append(s.buf, kind...)
}

func (s *sentences) text(t string) {
	s.buf = append(s.buf, ',')
	s.buf = append(s.buf, t...)
}

func (s *sentences) number(x float64, decimals int) {
	s.buf = append(s.buf, ',')
	if !math.IsNaN(x) {
		s.buf = strconv.AppendFloat(s.buf, x, 'f', decimals, 64)
	}
}

func (s *sentences) clock(t time.Time) {
	s.buf = append(s.buf, ',')
	s.buf = t.AppendFormat(s.buf, "150405.000")
}

// angle writes degrees and decimal minutes with the letter of the hemisphere.
func (s *sentences) angle(deg float64, width int, positive, negative string) {
	if math.IsNaN(deg) {
		s.text("")
		s.text("")
		return
	}
	letter := positive
	if deg < 0 {
		letter, deg = negative, -deg
	}
	const unitsPerMinute = 1e7
	total := int64(math.Round(deg * 60 * unitsPerMinute))
	d, m := total/(60*unitsPerMinute), total%(60*unitsPerMinute)
	s.buf = append(s.buf, ',')
	s.digits(d, width)
	s.digits(m/unitsPerMinute, 2)
	s.buf = append(s.buf, '.')
	s.digits(m%unitsPerMinute, 7)
	s.text(letter)
}

// digits appends n with leading zeros.
func (s *sentences) digits(n int64, width int) {
	var b [20]byte
	for i := width - 1; i >= 0; i-- {
		b[i] = byte('0' + n%10)
		n /= 10
	}
	s.buf = append(s.buf, b[:width]...)
}

func (s *sentences) end() {
	sum := byte(0)
	for _, c := range s.buf[s.start:] {
		sum ^= c
	}
	const hex = "0123456789ABCDEF"
	s.buf = append(s.buf, '*', hex[sum>>4], hex[sum&15], '\r', '\n')
}

func (s *sentences) rmc(f *recording.Fix) {
	s.begin("RMC")
	s.clock(f.Time)
	s.text("A")
	s.angle(f.Q[recording.LatDeg], 2, "N", "S")
	s.angle(f.Q[recording.LonDeg], 3, "E", "W")
	s.number(f.Q[recording.Speed]/unit.Knot, s.decimals)
	s.number(f.Q[recording.Course], 2)
	s.buf = append(s.buf, ',')
	s.buf = f.Time.AppendFormat(s.buf, "020106")
	s.text("")
	s.text("")
	s.text("A")
	s.end()
}

func (s *sentences) vtg(f *recording.Fix) {
	s.begin("VTG")
	s.number(f.Q[recording.Course], 2)
	s.text("T")
	s.text("")
	s.text("M")
	s.number(f.Q[recording.Speed]/unit.Knot, s.decimals)
	s.text("N")
	s.number(f.Q[recording.Speed]/unit.KMH, s.decimals)
	s.text("K")
	s.text("A")
	s.end()
}

func (s *sentences) gga(f *recording.Fix) {
	s.begin("GGA")
	s.clock(f.Time)
	s.angle(f.Q[recording.LatDeg], 2, "N", "S")
	s.angle(f.Q[recording.LonDeg], 3, "E", "W")
	s.text("1")
	s.number(f.Q[recording.Satellites], 0)
	s.number(f.Q[recording.HDOP], 1)
	s.number(f.Q[recording.Altitude], 2)
	s.text("M")
	s.text("0.0")
	s.text("M")
	s.text("")
	s.text("")
	s.end()
}

func (s *sentences) xdr(a *recording.Accel, i int) {
	s.start = len(s.buf) + 1
	s.buf = append(s.buf, "$YXXDR"...)
	for k, axis := range [][]float64{a.X, a.Y, a.Z} {
		if axis == nil {
			continue
		}
		s.text("G")
		s.number(axis[i]/unit.GravityStandard, 4)
		s.text("g")
		s.text("ACC" + string(rune('X'+k)))
	}
	s.end()
}
