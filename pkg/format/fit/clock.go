package fit

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"fromrest/pkg/diag"
)

// epochUnix is the zero of FIT time stamps.
const epochUnix = 631065600 // s since 1970

// rawNano is a time stamp as a number that keeps the two clocks apart: since
// power-on below systemTime seconds, else ns since 1970.
func rawNano(stamp uint32) int64 {
	if stamp < systemTime {
		return int64(stamp) * 1e9
	}
	return (epochUnix + int64(stamp)) * 1e9
}

// systemNano bounds the instants that count from power-on.
const systemNano = systemTime * int64(1e9)

// pair is one instant on both clocks.
type pair struct {
	sys    int64 // ns since power-on
	offset int64 // UTC in ns since 1970 less sys
	at     int64
}

// clock puts instants since power-on on UTC: by timestamp_correlation, linearly
// between several of them; without one, by the whole seconds of UTC that
// gps_metadata carries.
type clock struct {
	pairs []pair
	// The greatest difference between the whole second of UTC and the time
	// since power-on is the offset, exactly so where fixes fall on whole
	// seconds, as receivers' do.
	best         int64
	agree, stray int
}

// agreement is how far offsets from whole seconds may lie apart.
const agreement = int64(2 * time.Second)

// hint takes the whole second of UTC beside an instant, NaN where there is none.
func (c *clock) hint(raw int64, utc float64) {
	if raw >= systemNano || !(utc >= systemTime) {
		return
	}
	o := rawNano(uint32(utc)) - raw
	switch d := o - c.best; {
	case c.agree == 0 || c.stray > c.agree:
		c.best, c.agree, c.stray = o, 1, 0
	case d > agreement || d < -agreement:
		c.stray++
	default:
		c.best = max(c.best, o)
		c.agree++
	}
}

// correlate takes a timestamp_correlation message.
func (g *gather) correlate(m *message) {
	sys := m.value(1)
	if m.stamp < systemTime || !(sys < systemTime) {
		g.note("correlation", diag.Note, m.place, "a correlation of clocks without UTC or without the time since power-on is left out")
		return
	}
	utc := rawNano(m.stamp) + m.fraction(0, 4)
	raw := rawNano(uint32(sys)) + m.fraction(2, 5)
	g.clock.pairs = append(g.clock.pairs, pair{raw, utc - raw, m.place})
}

// fraction returns the part of a second in ns: in 1/32768 s where that is given,
// else in ms.
func (m *message) fraction(num, numMS byte) int64 {
	if v := m.value(num); v < 32768 {
		return int64(math.Round(v * 1e9 / 32768))
	}
	if ms := m.value(numMS); ms < 1000 {
		return int64(ms) * 1e6
	}
	return 0
}

// maxDrift is the greatest rate at which two clocks may part before the second
// correlation is taken for a clock that was set.
const maxDrift = 1e-3

// settle makes the correlations ready for use.
func (c *clock) settle(g *gather) {
	sort.SliceStable(c.pairs, func(i, k int) bool { return c.pairs[i].sys < c.pairs[k].sys })
	c.pairs = slices.CompactFunc(c.pairs, func(a, b pair) bool { return a.sys == b.sys })
	for i := 1; i < len(c.pairs); i++ {
		if d := c.pairs[i].offset - c.pairs[i-1].offset; d > int64(time.Second) || d < -int64(time.Second) {
			g.note("correlation", diag.Suspect, c.pairs[i].at, "the clocks' correlation changes by %.3f s in %.0f s", float64(d)/1e9,
				float64(c.pairs[i].sys-c.pairs[i-1].sys)/1e9)
		}
	}
}

// utc returns an instant in ns since 1970.
func (c *clock) utc(raw int64) int64 {
	if raw >= systemNano {
		return raw
	}
	n := len(c.pairs)
	if n == 0 {
		return raw + c.best
	}
	i := sort.Search(n, func(i int) bool { return c.pairs[i].sys > raw })
	if i == 0 {
		return raw + c.pairs[0].offset
	}
	a := c.pairs[i-1]
	if i == n {
		return raw + a.offset
	}
	b := c.pairs[i]
	rate := float64(b.offset-a.offset) / float64(b.sys-a.sys)
	if math.Abs(rate) > maxDrift {
		return raw + a.offset
	}
	return raw + a.offset + int64(math.Round(rate*float64(raw-a.sys)))
}

// stampText prints an instant on either clock.
func stampText(t time.Time) string {
	if n := t.UnixNano(); n < systemNano {
		return fmt.Sprintf("%.3f s since power-on", float64(n)/1e9)
	}
	return t.Format("2006-01-02T15:04:05.999Z")
}
