package nmea

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// fewestAccel is the number of samples below which acceleration is not taken
// for a measurement of motion.
const fewestAccel = 20

// accelLog gathers acceleration from XDR sentences. They carry no time: the
// samples between the sentences of one instant and the next are spread evenly
// over that interval, so their rate is right and their offset is not known.
type accelLog struct {
	v        [3][]float64 // m/s²
	nano     []int64      // unplaced until the instant after the sample is known
	unit     string
	from, to int   // samples that came with the last closed instant
	last     int64 // that instant
	step     int64 // interval before it
	any      bool
}

const unplaced = math.MinInt64

// readXDR takes acceleration from quadruplets (type, value, unit, name) whose
// type is G and whose unit is an acceleration's. The name tells the axis by its
// last letter. Empty values are absent.
func readXDR(f []string, s *sentence) {
	nan := math.NaN()
	v, any := [3]float64{nan, nan, nan}, false
	for ; len(f) >= 4; f = f[4:] {
		scale := 1.0
		switch f[2] {
		case "g", "G":
			scale = gravity
		case "m/s2", "m/s^2", "M/S2", "m/s/s":
			s.flags |= flagMS2
		default:
			continue
		}
		x, _, ok := number([]byte(f[1]))
		if axis := axisOf(f[3]); f[0] == "G" && ok && axis >= 0 {
			v[axis], any = x*scale, true
		}
	}
	if any {
		s.setAccel(v)
	}
}

// axisOf returns 0, 1, 2 for a transducer name that ends in X, Y, Z, else -1.
func axisOf(name string) int {
	if name == "" {
		return -1
	}
	return strings.IndexByte("xyz", name[len(name)-1]|0x20)
}

// add takes a sample.
func (l *accelLog) add(s *sentence) {
	if s.flags&flagAccel == 0 {
		return
	}
	for i, x := range s.accel() {
		l.v[i] = append(l.v[i], x)
	}
	if l.unit = "g"; s.flags&flagMS2 != 0 {
		l.unit = "m/s2"
	}
	l.nano = append(l.nano, unplaced)
}

// end closes an instant: the samples since the one before it came with it, and
// those of the one before can be placed.
func (l *accelLog) end(nano int64) {
	if l.any && nano > l.last {
		l.step = nano - l.last
		l.place()
	}
	l.from, l.to = l.to, len(l.nano)
	l.last, l.any = nano, true
}

// place spreads the samples of the last instant over the interval after it.
func (l *accelLog) place() {
	placed := l.nano[l.from:l.to]
	for i := range placed {
		placed[i] = l.last + int64(i)*l.step/int64(len(placed))
	}
}

// shift moves placed samples and the last instant.
func (l *accelLog) shift(d int64) {
	for i, n := range l.nano {
		if n != unplaced {
			l.nano[i] += d
		}
	}
	l.last += d
}

// result returns the samples in the order of time, or nil where there are too few.
// It drops those that could not be placed and, of several of one instant, the later.
func (l *accelLog) result(problems *diag.List) *recording.Accel {
	if l.any && l.step > 0 {
		l.place()
	}
	a := &recording.Accel{OwnClock: true, Unit: l.unit}
	var axes [3][]float64
	rows := make([]int, 0, len(l.nano))
	for i, n := range l.nano {
		if n != unplaced {
			rows = append(rows, i)
		}
	}
	slices.SortStableFunc(rows, func(i, j int) int { return cmp.Compare(l.nano[i], l.nano[j]) })
	repeated := 0
	for _, i := range rows {
		n, k := l.nano[i], len(a.NanoUTC)
		if k > 0 && n == a.NanoUTC[k-1] {
			repeated++
			continue
		}
		a.NanoUTC = append(a.NanoUTC, n)
		for c := range axes {
			axes[c] = append(axes[c], l.v[c][i])
		}
	}
	if len(a.NanoUTC) < fewestAccel {
		return nil
	}
	for c := range axes {
		if !slices.ContainsFunc(axes[c], func(x float64) bool { return x == x }) {
			axes[c] = nil
		}
	}
	a.X, a.Y, a.Z = axes[0], axes[1], axes[2]
	// A one-axis log has only X, whichever letter the logger gave it.
	if a.X == nil {
		if a.X, a.Y = a.Y, nil; a.X == nil {
			a.X, a.Z = a.Z, nil
		}
	}
	problems.AddMany(diag.Problem{Kind: diag.TimeRepeated, Effect: diag.Dropped, Line: 1, Text: "an acceleration sample stands at the instant of another"}, repeated)
	problems.Addf("acceleration-clock", diag.Note, 1,
		"acceleration in XDR sentences has no time of its own: samples were spread evenly between fixes")
	return a
}
