package nmea

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// kind is a sentence type that the package tells apart.
type kind uint8

const (
	kindOther kind = iota // a sentence that carries nothing a recording holds
	kindRMC
	kindVTG
	kindGGA
	kindGNS
	kindGLL
	kindZDA
	kindGSA
	kindGST
	kindPUBX // proprietary position and speed of u-blox receivers
	kindXDR
	kindText  // TXT: the receiver's words about itself
	kindIssue // not a sentence: something passed over, see issue
	numKinds
)

var kindNames = [numKinds]string{"other", "RMC", "VTG", "GGA", "GNS", "GLL", "ZDA", "GSA", "GST", "PUBX,00", "XDR", "TXT", "issue"}

// sumState is what a sentence's checksum says.
type sumState uint8

const (
	sumRight sumState = iota
	sumWrong
	sumMissing
)

// Flags of a sentence.
const (
	flagVoid       = 1 << iota // the receiver had no fix
	flagSuspect                // estimated, manual, simulated or contradictory mode
	flagKMH                    // speed came from the km/h field
	flagBadDate                // the date field is not a date
	flagSigned                 // latitude or longitude carries a sign and a letter
	flagNavStatus              // GNS says that no navigational status is given
	flagLeapSecond             // the time lies inside a leap second
	flagField                  // a secondary field cannot be read
	flagAccel                  // XDR has acceleration in lat, lon, alt, see setAccel
	flagMS2                    // it was in m/s², not in g
	flagUnusable               // recognised type, fields that cannot be read
	flagGSV                    // satellites in view, which carries no fix
)

const (
	noTime = -1            // sentence.tod where the sentence has no time
	noDay  = math.MinInt32 // sentence.day where the sentence has no date
)

// sentence is what the package keeps of one sentence. Absent numbers are NaN.
// It is a plain value: parsing one allocates nothing.
type sentence struct {
	line   int     // 1-based in the log
	tod    int64   // ns since midnight, noTime
	lat    float64 // degrees north
	lon    float64 // degrees east
	speed  float64 // m/s
	course float64 // degrees clockwise from true north
	alt    float64 // m above mean sea level
	hdop   float64
	psd    float64 // m, horizontal standard deviation
	day    int32   // days since 1970-01-01, noDay
	view   int32   // 1 + index of the view that stands beside the sentence, 0 where there is none
	flags  uint16
	kind   kind
	sum    sumState
	issue  issue
	sats   uint8 // satellites used, 255 where absent
	// Decimals the log printed, for the resolution of time, position and speed.
	timeDec, posDec, speedDec uint8
	// given and computed are the checksums, where they differ.
	given, computed byte
	typ             [3]byte // letters of the type, for messages
}

// setAccel keeps the axes of an XDR sentence, in m/s², NaN where absent. They
// share the place of the position, which XDR never has, to keep the record short.
func (s *sentence) setAccel(v [3]float64) {
	s.lat, s.lon, s.alt = v[0], v[1], v[2]
	s.flags |= flagAccel
}

// accel returns what setAccel kept.
func (s *sentence) accel() [3]float64 { return [3]float64{s.lat, s.lon, s.alt} }

const noSats = 255

// blank is "everything absent".
var blank = func() sentence {
	nan := math.NaN()
	return sentence{tod: noTime, day: noDay, sats: noSats,
		lat: nan, lon: nan, speed: nan, course: nan, alt: nan, hdop: nan, psd: nan}
}()

// maxFields bounds the fields of a sentence the fast path looks at; GSA, the
// longest of them, has 19.
const maxFields = 32

// fields gives the comma-separated parts of a sentence by index without
// copying: at(0) is the address ("GPRMC"), at(1) the first data field.
type fields struct {
	b   []byte             // from '$' up to, not including, '*'
	cut [maxFields + 1]int // cut[i]+1 .. cut[i+1] is field i
	n   int                // number of fields, the address included; 0 if too many

	lastDate [6]byte // the last date that was read, and its day
	lastDay  int32
	lastAt   []byte // the fields of the last position that was read, and what it is
	last     place
}

// place is a position as printed.
type place struct {
	lat, lon float64 // degrees
	dec      uint8
	signed   bool
}

// at returns field i, empty where the sentence is shorter.
func (f *fields) at(i int) []byte {
	if i >= f.n {
		return nil
	}
	return f.b[f.cut[i]+1 : f.cut[i+1]]
}

// letter returns field i if it is one character, upper-cased; 0 if it is
// empty or missing; 1 if it is longer.
func (f *fields) letter(i int) byte {
	p := f.at(i)
	switch len(p) {
	case 0:
		return 0
	case 1:
		if p[0] >= 'a' && p[0] <= 'z' {
			return p[0] - 32
		}
		return p[0]
	}
	return 1
}

const (
	ones  = 0x0101010101010101
	highs = 0x8080808080808080
)

// split finds the commas of b, which starts with '$' and ends before '*', and
// returns the XOR of all bytes after the '$'. clean is false if b holds a byte
// outside ASCII. Eight bytes are looked at in one step.
func (f *fields) split(b []byte) (sum byte, clean bool) {
	f.b = b
	f.cut[0] = 0
	n, i := 1, 1
	var x, seen uint64
	for ; i+8 <= len(b); i += 8 {
		w := binary.LittleEndian.Uint64(b[i:])
		x ^= w
		seen |= w
		d := w ^ ones*','
		// A byte of t has its high bit set exactly where the byte of d is zero.
		t := ^((d&^highs + ^uint64(highs)) | d | ^uint64(highs))
		for ; t != 0; t &= t - 1 {
			if n < maxFields {
				f.cut[n] = i + bits.TrailingZeros64(t)>>3
			}
			n++
		}
	}
	x ^= x >> 32
	x ^= x >> 16
	x ^= x >> 8
	sum = byte(x)
	for ; i < len(b); i++ {
		sum ^= b[i]
		seen |= uint64(b[i])
		if b[i] == ',' {
			if n < maxFields {
				f.cut[n] = i
			}
			n++
		}
	}
	f.n = 0
	if n <= maxFields {
		f.cut[n], f.n = len(b), n
	}
	return sum, seen&highs == 0
}
