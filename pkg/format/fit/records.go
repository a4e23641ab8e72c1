package fit

import (
	"bytes"
	"fmt"
	"math"
	"sync"
	"time"

	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// global serialises the decodes of tormoder/fit, which keeps accumulators in
// package variables.
var global sync.Mutex

// epoch is the zero of FIT time stamps.
var epoch = time.Date(1989, time.December, 31, 0, 0, 0, 0, time.UTC)

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

// stampOf returns the time stamp that tormoder/fit made an instant of.
func stampOf(t time.Time) uint32 { return uint32(t.Sub(epoch) / time.Second) }

// recordDecoder decodes a small FIT file of records.
type recordDecoder func(file []byte) (*tormoder.ActivityFile, error)

// decodeRecords hands a batch to tormoder/fit. Its panics are errors.
func decodeRecords(file []byte) (act *tormoder.ActivityFile, err error) {
	global.Lock()
	defer global.Unlock()
	defer func() {
		if p := recover(); p != nil {
			act, err = nil, fmt.Errorf("the decoder of records breaks: %v", p)
		}
	}()
	f, err := tormoder.Decode(bytes.NewReader(file))
	if err != nil {
		return nil, err
	}
	act, err = f.Activity()
	if err == nil && act == nil {
		err = fmt.Errorf("the decoder of records gives nothing")
	}
	return act, err
}

// flushRecords decodes the batch of records, with muktihari/fit where
// tormoder/fit does not.
func (g *gather) flushRecords() {
	b := &g.batches[records]
	if len(b.places) == 0 {
		return
	}
	defer b.reset()
	act, err := g.decodeRecords(b.file())
	if err != nil {
		g.note("decoder", diag.Note, b.places[0], "%v; read with the other decoder", err)
		g.decodeSensors(b)
		return
	}
	var at []int64 // places of the records
	for i, k := range b.kinds {
		if k == mesgRecord {
			at = append(at, b.places[i])
		}
	}
	for i, r := range act.Records {
		if i < len(at) {
			r := recordOf(r)
			b.tried[i].plan.compare(&b.tried[i].here, &r)
			g.record(r, at[i])
		}
	}
	for _, l := range act.Laps {
		g.lap(stampOf(l.Timestamp))
	}
	for _, e := range act.Events {
		g.event(stampOf(e.Timestamp), byte(e.Event), byte(e.EventType))
	}
	for _, d := range act.DeviceInfos {
		g.device(byte(d.DeviceIndex), d.DeviceType, byte(d.SourceType), d.SoftwareVersion)
	}
}

// record is what is taken from a record message, NaN where absent.
type record struct {
	stamp               uint32
	lat, lon, alt       float64 // degrees, m
	speed, up, accuracy float64 // m/s, m
	step                float64 // m/s, of the speed
	each                []byte  // speeds of the last seconds in 1/16 m/s, the last one at stamp
}

// recordOf reads a record of tormoder/fit.
func recordOf(m *tormoder.RecordMsg) record {
	r := record{stamp: stampOf(m.Timestamp), lat: m.PositionLat.Degrees(), lon: m.PositionLong.Degrees(), accuracy: math.NaN()}
	r.settle()
	r.alt = m.GetEnhancedAltitudeScaled()
	r.up = m.GetVerticalSpeedScaled()
	if m.GpsAccuracy != 0xFF {
		r.accuracy = float64(m.GpsAccuracy)
	}
	r.speed, r.step = m.GetEnhancedSpeedScaled(), stepMillimetre
	switch {
	case len(m.CompressedSpeedDistance) == 3:
		r.speed, r.step = compressedSpeed(m.GetSpeedFromCompressedSpeedDistance()), stepCompressed
	case len(m.Speed1s) > 0:
		r.each, r.step = m.Speed1s, stepEach
	}
	return r
}

// Steps of the fields that hold speed, in m/s.
const (
	stepMillimetre = 0.001
	stepCompressed = 0.01
	stepEach       = 1.0 / 16
)

// compressedSpeed drops the value that means no speed in 12 bits.
func compressedSpeed(v float64) float64 {
	if v > 40.945 { // 0xFFF
		return math.NaN()
	}
	return v
}

// record adds a record to its track.
func (g *gather) record(r record, at int64) {
	if r.stamp == 0 { // tormoder/fit's zero: no time stamp
		g.note(diag.NoTime, diag.Dropped, at, "the record has no time stamp")
		return
	}
	raw := rawNano(r.stamp)
	for i, v := range r.each[:max(len(r.each)-1, 0)] {
		if v != 0xFF {
			f := recording.NewFix(time.Unix(0, raw-int64(len(r.each)-1-i)*1e9).UTC())
			f.Q[recording.Speed] = float64(v) / 16
			g.add(&g.rec, &f, at)
		}
	}
	if n := len(r.each); n > 0 && r.each[n-1] != 0xFF {
		r.speed = float64(r.each[n-1]) / 16
	}
	f := recording.NewFix(time.Unix(0, raw).UTC())
	q := &f.Q
	q[recording.Speed], q[recording.LatDeg], q[recording.LonDeg] = r.speed, r.lat, r.lon
	q[recording.Altitude], q[recording.VelUp], q[recording.PosSD] = r.alt, r.up, r.accuracy
	if math.IsNaN(r.speed) && math.IsNaN(r.lat) {
		g.bare++
		return
	}
	if !math.IsNaN(r.speed) {
		g.recStep = math.Max(g.recStep, r.step)
	}
	g.add(&g.rec, &f, at)
}

// Events and device types of the profile.
const (
	eventTimer       = 0
	eventLap         = 9
	eventMarker      = 32
	eventStart       = 0
	eventStop        = 1
	eventStopAll     = 4
	eventStopOff     = 8
	eventStopOffAll  = 9
	sourceAntPlus    = 1
	deviceSpeedCad   = 121
	deviceSpeed      = 123
	deviceIndexMaker = 0
)

func (g *gather) lap(stamp uint32) { g.mark(stamp, "lap", "") }

func (g *gather) event(stamp uint32, event, kind byte) {
	switch {
	case event == eventMarker:
		g.mark(stamp, "event", "marker")
	case event == eventLap:
		g.mark(stamp, "lap", "")
	case event != eventTimer:
	case kind == eventStart:
		g.mark(stamp, "start", "timer")
	case kind == eventStop, kind == eventStopAll, kind == eventStopOff, kind == eventStopOffAll:
		g.mark(stamp, "stop", "timer")
	}
}

func (g *gather) mark(stamp uint32, kind, text string) {
	if stamp == 0 || stamp == invalidStamp {
		return
	}
	g.marks = append(g.marks, rawMark{rawNano(stamp), kind, text})
}

// device learns from a device_info message.
func (g *gather) device(index, kind, source byte, software uint16) {
	if source == sourceAntPlus && (kind == deviceSpeed || kind == deviceSpeedCad) {
		g.wheel = true
	}
	if index == deviceIndexMaker && software != 0xFFFF {
		g.say("firmware", fmt.Sprintf("%.2f", float64(software)/100))
	}
}

func (g *gather) identify(manufacturer, product uint16) {
	if manufacturer != 0xFFFF {
		if name := tormoder.Manufacturer(manufacturer).String(); name != "" {
			g.say("manufacturer", name)
		}
	}
	if product != 0xFFFF && product != 0 {
		g.say("product", fmt.Sprint(product))
	}
}
