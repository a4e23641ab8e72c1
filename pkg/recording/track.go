package recording

import (
	"math"
	"slices"
	"time"
)

// Column names a quantity of a fix.
type Column int

// The quantities of a fix. Absent is NaN.
const (
	Speed      Column = iota // m/s over ground, as reported: the length of a noisy vector
	Course                   // degrees clockwise from true north, 0..360
	LatDeg                   // degrees north, WGS 84
	LonDeg                   // degrees east, WGS 84
	Altitude                 // m above mean sea level
	VelNorth                 // m/s
	VelEast                  // m/s
	VelUp                    // m/s
	SpeedSD                  // m/s, the receiver's own standard deviation of speed
	PosSD                    // m, the receiver's own horizontal standard deviation
	HDOP                     // horizontal dilution of precision
	Satellites               // satellites used
	AccelLong                // m/s², longitudinal acceleration where the log has it beside the fix

	// Columns is the number of quantities a Fix holds.
	Columns = int(iota)
)

// Fix is one instant of a track: a value for each Column, NaN where absent. Use
// NewFix; the zero Fix holds zeros, not absences.
type Fix struct {
	Time time.Time // UTC
	Q    [Columns]float64
}

// NewFix returns a fix at t in which every quantity is absent.
func NewFix(t time.Time) Fix {
	f := Fix{Time: t}
	for i := range f.Q {
		f.Q[i] = math.NaN()
	}
	return f
}

// Has reports whether the fix carries the quantity.
func (f *Fix) Has(c Column) bool { return !math.IsNaN(f.Q[c]) }

// Track is one source's fixes in columns.
type Track struct {
	Source Source
	// Name tells tracks of one recording apart: "RMC", "gps_metadata",
	// "record", or the header of a CSV column.
	Name string
	// SpeedStep is the finest step the log could print speed in, in m/s: 0.001
	// kn for three decimals of knots. 0 where unknown or negligible.
	SpeedStep float64 // m/s
	// SpeedUnit is one unit of the speed as the log wrote it, in m/s
	// (unit.Knot, unit.KMH, 1). 0 where unknown.
	SpeedUnit float64 // m/s
	// TimeStep is the finest step the log could print time in. 0 where unknown.
	TimeStep time.Duration

	nano []int64
	cols [Columns][]float64
}

// TrackOf returns a track over columns that a reader has already filled: nano
// are packed instants, strictly increasing, and every column that is not nil
// has a value for each of them. The slices are taken over, not copied, so that a
// reader of columns needs no second copy of a long log.
func TrackOf(nano []int64, cols [Columns][]float64) *Track {
	return &Track{nano: nano[:len(nano):len(nano)], cols: cols}
}

// Epoch0 is the instant that undated clocks count from.
var Epoch0 = time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC)

// undatedBase is where undated instants start in the int64 column: times before
// 1678 do not fit in ns since 1970, so the undated day is held a little above
// the smallest int64.
const undatedBase = math.MinInt64 + int64(48*time.Hour)

// Nano packs an instant into the int64 used by the columns: ns since 1970, or,
// for the undated day 0001-01-01 and the days after it, a range no dated log reaches.
func Nano(t time.Time) int64 {
	if t.Year() < 1678 {
		return undatedBase + int64(t.Sub(Epoch0))
	}
	return t.UnixNano()
}

// Instant is the inverse of Nano.
func Instant(n int64) time.Time {
	if d := n - undatedBase; n < undatedBase+int64(365*24*time.Hour) {
		return Epoch0.Add(time.Duration(d))
	}
	return time.Unix(0, n).UTC()
}

// Len returns the number of fixes.
func (t *Track) Len() int { return len(t.nano) }

// Append adds a fix and reports whether it was taken: a fix not later than the
// one before it is refused.
func (t *Track) Append(f *Fix) bool {
	n := Nano(f.Time)
	if k := len(t.nano); k > 0 && n <= t.nano[k-1] {
		return false
	}
	t.AppendNano(n, &f.Q)
	return true
}

// AppendNano adds values at a packed instant without looking at the order.
func (t *Track) AppendNano(n int64, q *[Columns]float64) {
	k := len(t.nano)
	t.nano = append(t.nano, n)
	for c := range t.cols {
		v := q[c]
		switch {
		case t.cols[c] != nil:
			t.cols[c] = append(t.cols[c], v)
		case v == v: // first value of this quantity: absent until now
			col := make([]float64, k+1, cap(t.nano))
			for i := range col[:k] {
				col[i] = math.NaN()
			}
			col[k] = v
			t.cols[c] = col
		}
	}
}

// Grow makes room for n more fixes, so that appending them does not copy what is
// there. Columns that appear later get the same room.
func (t *Track) Grow(n int) {
	t.nano = slices.Grow(t.nano, n)
	for c := range t.cols {
		if t.cols[c] != nil {
			t.cols[c] = slices.Grow(t.cols[c], n)
		}
	}
}

// counted is how many fixes tell how many the rest of an input may hold.
const counted = 1024

// expectMore is what Expect adds to its estimate, so that inputs whose records grow a
// little shorter still fit: assumed.
const expectMore = 1.02

// Expect makes room for the rest of an input once counted fixes are there, so
// that the columns need not be copied as they grow: those fixes took read bytes
// and left more bytes follow, none where left is not known. It is called after
// each fix.
func (t *Track) Expect(read, left int64) {
	if t.Len() == counted && read > 0 && left > 0 {
		t.Grow(int(expectMore * counted * float64(left) / float64(read)))
	}
}

// Like returns an empty track of the same source, name, steps and unit.
func (t *Track) Like() *Track {
	return &Track{Source: t.Source, Name: t.Name, SpeedStep: t.SpeedStep, SpeedUnit: t.SpeedUnit, TimeStep: t.TimeStep}
}

// NanoAt returns the packed instant of fix i.
func (t *Track) NanoAt(i int) int64 { return t.nano[i] }

// TimeAt returns the instant of fix i in UTC.
func (t *Track) TimeAt(i int) time.Time { return Instant(t.nano[i]) }

// Value returns a quantity of fix i, NaN where absent.
func (t *Track) Value(c Column, i int) float64 {
	if t.cols[c] == nil {
		return math.NaN()
	}
	return t.cols[c][i]
}

// Col returns a whole column, nil where no fix has the quantity. It shares
// memory with the track.
func (t *Track) Col(c Column) []float64 { return t.cols[c] }

// Nanos returns the packed instants. It shares memory with the track.
func (t *Track) Nanos() []int64 { return t.nano }

// At returns fix i.
func (t *Track) At(i int) Fix {
	f := Fix{Time: t.TimeAt(i)}
	for c := range f.Q {
		f.Q[c] = t.Value(Column(c), i)
	}
	return f
}

// Has reports whether any fix carries the quantity.
func (t *Track) Has(c Column) bool { return t.cols[c] != nil }
