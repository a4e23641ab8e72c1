package fit

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"time"

	muktihari "github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/proto"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// listener receives the messages of a batch from muktihari/fit in their order.
type listener struct {
	g *gather
	b *batch
	n int
	// opened is set once the batch's own file_id has passed.
	opened bool
}

// OnMesg implements the decoder's listener.
func (l *listener) OnMesg(m proto.Message) {
	if !l.opened {
		l.opened = true
		return
	}
	if l.n >= len(l.b.places) {
		return
	}
	at := l.b.places[l.n]
	l.n++
	l.g.sensor(&m, at)
}

// decodeSensors hands a batch to muktihari/fit.
func (g *gather) decodeSensors(b *batch) {
	l := &listener{g: g, b: b}
	err := func() (err error) {
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("the decoder breaks: %v", p)
			}
		}()
		opts := []muktihari.Option{muktihari.WithIgnoreChecksum(), muktihari.WithBroadcastOnly(),
			muktihari.WithNoComponentExpansion(), muktihari.WithMesgListener(l), muktihari.WithReadBufferSize(64 << 10)}
		in := bytes.NewReader(b.buf)
		if g.dec == nil {
			g.dec = muktihari.New(in, opts...)
		} else {
			g.dec.Reset(in, opts...)
		}
		_, err = g.dec.Decode()
		return err
	}()
	if err == nil && l.n < len(b.places) {
		err = errors.New("the decoder stops early")
	}
	if err != nil {
		at := b.places[min(l.n, len(b.places)-1)]
		g.note("decoder", diag.Dropped, at, "%v; %d messages are lost", err, len(b.places)-l.n)
	}
}

func (g *gather) flushSensors() {
	b := &g.batches[sensors]
	if len(b.places) == 0 {
		return
	}
	b.file()
	g.decodeSensors(b)
	b.reset()
}

// stampField returns the time stamp of a message.
func stampField(m *proto.Message) uint32 {
	for i := range m.Fields {
		if m.Fields[i].Num == fieldTime {
			return m.Fields[i].Value.Uint32()
		}
	}
	return invalidStamp
}

// sensor reads a message of muktihari/fit.
func (g *gather) sensor(m *proto.Message, at int64) {
	stamp := stampField(m)
	needs := wanted[uint16(m.Num)]
	if needs != nil && needs.stamp && stamp == invalidStamp {
		g.note(diag.NoTime, diag.Dropped, at, "the %s message has no time stamp", needs.name)
		return
	}
	switch uint16(m.Num) {
	case mesgGPS:
		g.metadata(m, stamp, at)
	case mesgAccel:
		g.samples(m, stamp, at)
	case mesgCalibration:
		g.calibrate(m, at)
	case mesgCorrelation:
		g.correlate(m, stamp, at)
	case mesgRecord:
		g.record(recordFrom(m, stamp), at)
	case mesgLap:
		g.lap(stamp)
	case mesgEvent:
		g.event(stamp, m.FieldValueByNum(0).Uint8(), m.FieldValueByNum(1).Uint8())
	case mesgDevice:
		g.device(m.FieldValueByNum(0).Uint8(), m.FieldValueByNum(1).Uint8(), m.FieldValueByNum(25).Uint8(), m.FieldValueByNum(5).Uint16())
	case mesgFileID:
		g.identify(m.FieldValueByNum(1).Uint16(), m.FieldValueByNum(2).Uint16())
	}
}

// semicircle is the angle of one unit of a FIT position.
const semicircle = 180.0 / (1 << 31) // degrees

func degrees(v int32) float64 {
	if v == math.MaxInt32 {
		return math.NaN()
	}
	return float64(v) * semicircle
}

func altitude(v uint32) float64 {
	if v == math.MaxUint32 {
		return math.NaN()
	}
	return float64(v)/5 - 500
}

// metadata adds a fix from gps_metadata.
func (g *gather) metadata(m *proto.Message, stamp uint32, at int64) {
	nan := math.NaN()
	raw := rawNano(stamp)
	f := recording.NewFix(time.Time{})
	q := &f.Q
	utc := uint32(invalidStamp)
	for i := range m.Fields {
		v := m.Fields[i].Value
		switch m.Fields[i].Num {
		case 0:
			if ms := v.Uint16(); ms != math.MaxUint16 {
				raw += int64(ms) * 1e6
			}
		case 1:
			q[recording.LatDeg] = degrees(v.Int32())
		case 2:
			q[recording.LonDeg] = degrees(v.Int32())
		case 3:
			q[recording.Altitude] = altitude(v.Uint32())
		case 4:
			if s := v.Uint32(); s != math.MaxUint32 {
				q[recording.Speed] = float64(s) / 1000
			}
		case 5:
			if c := v.Uint16(); c <= 36000 {
				q[recording.Course] = float64(c) / 100
			}
		case 6:
			utc = v.Uint32()
		case 7:
			g.velocity(v.SliceInt16(), q)
		}
	}
	f.Time = time.Unix(0, raw).UTC()
	if lat, lon := q[recording.LatDeg], q[recording.LonDeg]; lat != lat || lon != lon || math.Abs(lat) > 90 {
		q[recording.LatDeg], q[recording.LonDeg] = nan, nan
	}
	if !f.Has(recording.Speed) && !f.Has(recording.LatDeg) {
		g.bare++
		return
	}
	g.clock.hint(raw, utc)
	g.add(&g.gps, &f, at)
}

// velocity reads east, north and up in cm/s.
func (g *gather) velocity(v []int16, q *[recording.Columns]float64) {
	if len(v) != 3 {
		return
	}
	for i, c := range [...]recording.Column{recording.VelEast, recording.VelNorth, recording.VelUp} {
		if v[i] != math.MaxInt16 {
			q[c] = float64(v[i]) / 100
		}
	}
	if e, n := q[recording.VelEast], q[recording.VelNorth]; e != e || n != n {
		q[recording.VelEast], q[recording.VelNorth] = math.NaN(), math.NaN()
	}
}

// recordFrom reads a record of muktihari/fit, for the batches that tormoder/fit
// refuses.
func recordFrom(m *proto.Message, stamp uint32) record {
	nan := math.NaN()
	r := record{stamp: stamp, lat: nan, lon: nan, alt: nan, speed: nan, up: nan, accuracy: nan, step: stepMillimetre}
	for i := range m.Fields {
		v := m.Fields[i].Value
		switch m.Fields[i].Num {
		case 0:
			r.lat = latitude(v.Int32())
		case 1:
			r.lon = degrees(v.Int32())
		case 2:
			if a := v.Uint16(); a != math.MaxUint16 {
				r.alt = altitude(uint32(a))
			}
		case 78:
			r.alt = altitude(v.Uint32())
		case 6:
			if s := v.Uint16(); s != math.MaxUint16 {
				r.speed = float64(s) / 1000
			}
		case 73:
			if s := v.Uint32(); s != math.MaxUint32 {
				r.speed = float64(s) / 1000
			}
		case 8:
			if b := v.SliceUint8(); len(b) == 3 && !allFF(b) {
				r.speed, r.step = compressedSpeed(float64(uint16(b[0])|uint16(b[1]&15)<<8)/100), stepCompressed
			}
		case 17:
			r.each, r.step = bytes.Clone(v.SliceUint8()), stepEach
		case 31:
			if a := v.Uint8(); a != math.MaxUint8 {
				r.accuracy = float64(a)
			}
		case 32:
			if u := v.Int16(); u != math.MaxInt16 {
				r.up = float64(u) / 1000
			}
		}
	}
	r.settle()
	return r
}
