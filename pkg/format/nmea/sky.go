package nmea

import (
	"math"
	"slices"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
)

// The quantities of a sample of the sky.
const (
	skyUsed = iota
	skyTracked
	skyPDOP
	skyHDOP
	skyVDOP
	skyCN0
	skyQuantities
)

// skySample is what one second says of the sky, NaN where it says nothing.
type skySample struct {
	nano int64 // of its first instant
	q    [skyQuantities]float64
}

// skyLog samples GSA and GSV once in each whole second of the day. A GSA counts
// in the first instant that has any; a second one there that names a satellite
// again repeats the first. Of GSV each page counts once. Signals are left out of
// a second in which a system's pages are not all there: the pages that are
// missing would hold a certain kind of satellites, the weak ones.
type skyLog struct {
	samples []skySample

	open    bool // a second is being gathered
	placed  bool // its instant is known
	nano    int64
	second  int64 // since midnight
	instant int64 // ns since midnight, whose GSA count; noTime before the first

	q      [skyQuantities]float64
	inFix  [numSatellites]bool
	heard  []satellite
	cn0    [numSatellites]uint8 // dBHz, of the heard
	page   [numPages]bool
	pages  [numSystems]uint32 // page numbers seen, a bit each
	totals [numSystems]uint8  // pages announced
}

// take consumes a view of the instant tod. Of what was taken before in a second
// it costs next to nothing.
func (l *skyLog) take(v *view, tod int64) {
	if s := tod / int64(time.Second); !l.open || s != l.second {
		l.seal()
		l.open, l.second, l.instant = true, s, noTime
	}
	if v.total == 0 {
		l.fix(v, tod)
		return
	}
	if l.page[v.page] {
		return
	}
	l.page[v.page] = true
	system := v.page.system()
	l.pages[system] |= 1 << v.page.number()
	l.totals[system] = max(l.totals[system], v.total)
	for i, c := range v.cn0 {
		sat := v.sats[i]
		if sat == 0 || c == 0 {
			continue
		}
		if l.cn0[sat] == 0 {
			l.heard = append(l.heard, sat)
		}
		l.cn0[sat] = max(l.cn0[sat], c)
	}
}

// fix consumes a GSA.
func (l *skyLog) fix(v *view, tod int64) {
	if l.instant == noTime {
		l.instant, l.q[skyUsed] = tod, 0
	}
	if l.instant != tod {
		return
	}
	before := l.q[skyUsed]
	for _, sat := range v.sats {
		if sat != 0 && l.inFix[sat] {
			return
		}
	}
	for _, sat := range v.sats {
		if sat != 0 && !l.inFix[sat] {
			l.inFix[sat] = true
			l.q[skyUsed]++
		}
	}
	if l.q[skyUsed] == before {
		return // no satellites have no geometry, whatever the receiver prints
	}
	for i, x := range v.dop {
		if q := &l.q[skyPDOP+i]; *q != *q {
			*q = x
		}
	}
}

// end closes an instant, the first of which places a sample in time.
func (l *skyLog) end(nano int64) {
	if l.open && !l.placed {
		l.nano, l.placed = nano, true
	}
}

// seal finishes the second that is being gathered and clears the state.
func (l *skyLog) seal() {
	if l.open {
		l.signals()
		l.samples = append(l.samples, skySample{l.nano, l.q})
	}
	*l = skyLog{samples: l.samples, heard: l.heard[:0]}
	for i := range l.q {
		l.q[i] = math.NaN()
	}
}

// signals fills in what GSV says where there are pages and none is missing.
func (l *skyLog) signals() {
	any := false
	for s, n := range l.totals {
		if l.pages[s] != 1<<(n+1)-2 && n > 0 {
			return
		}
		any = any || n > 0
	}
	if !any {
		return
	}
	l.q[skyTracked] = float64(len(l.heard))
	if len(l.heard) == 0 {
		return
	}
	c := make([]float64, len(l.heard))
	for i, sat := range l.heard {
		c[i] = float64(l.cn0[sat])
	}
	l.q[skyCN0] = stats.Median(c)
}

// shift moves the samples.
func (l *skyLog) shift(d int64) {
	for i := range l.samples {
		l.samples[i].nano += d
	}
	l.nano += d
}

// result summarises the samples with from <= instant < to, nil where none says
// anything.
func (l *skyLog) result(from, to int64) *recording.Sky {
	l.seal()
	var sky recording.Sky
	for i, out := range [skyQuantities]*recording.Spread{&sky.Used, &sky.Tracked, &sky.PDOP, &sky.HDOP, &sky.VDOP, &sky.CN0} {
		var x []float64
		for _, s := range l.samples {
			if s.q[i] == s.q[i] && s.nano >= from && s.nano < to {
				x = append(x, s.q[i])
			}
		}
		if len(x) > 0 {
			*out = recording.Spread{N: len(x), Median: stats.Median(x), Low: slices.Min(x), High: slices.Max(x)}
		}
	}
	if sky == (recording.Sky{}) {
		return nil
	}
	return &sky
}
