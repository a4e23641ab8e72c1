package synth

import (
	"io"
	"math"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/kit/datetime"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// FITOptions shapes a FIT file. The zero value writes times in UTC.
type FITOptions struct {
	// SincePowerOn writes times as seconds since the device was switched on, as
	// some devices do, so that only timestamp_correlation gives UTC.
	SincePowerOn bool
}

// Scales of the FIT profile and of the simulated sensor.
const (
	semicircles   = 1 << 31 / 180.0 // per degree
	countsPerG    = 2048
	levelShift    = 32768 // counts
	accelBatch    = 25    // samples a message, at most 30
	powerOnBefore = 41250 * time.Millisecond
)

// fitWriter collects messages in the order of time.
type fitWriter struct {
	msgs  []proto.Message
	shift time.Duration // what to take from UTC for the file's clock
	acc   *recording.Accel
	next  int // first accelerometer sample not written
}

// split returns the whole seconds and the milliseconds of an instant on the
// file's clock.
func (w *fitWriter) split(t time.Time) (time.Time, uint16) {
	t = t.Add(-w.shift).Round(time.Millisecond)
	whole := t.Truncate(time.Second)
	return whole, uint16(t.Sub(whole) / time.Millisecond)
}

// WriteFIT writes the primary track and the accelerometer as a FIT activity:
// one record a second, gps_metadata at the full rate, accelerometer_data with
// its calibration, and the correlation of the clocks where there are two. An accelerometer with a clock of its own is written with its
// stamps as they are: FIT knows one clock.
func WriteFIT(out io.Writer, rec *recording.Recording, opts FITOptions) error {
	tr := rec.Primary()
	if tr == nil || tr.Len() == 0 {
		return errNoTrack
	}
	w := &fitWriter{acc: rec.Accel}
	first := tr.TimeAt(0).Round(time.Millisecond)
	if opts.SincePowerOn {
		w.shift = first.Sub(datetime.Epoch()) - powerOnBefore
	}
	w.preamble(first, w.acc.Len() > 0)
	lastWhole := int64(math.MinInt64)
	for i := range tr.Len() {
		f := tr.At(i)
		w.accelUntil(tr.NanoAt(i))
		w.metadata(&f)
		// A record has whole seconds: take the fixes that fall on one.
		if sec := f.Time.Unix(); sec != lastWhole && f.Time.Nanosecond() < int(time.Millisecond) {
			lastWhole = sec
			w.record(&f)
		}
	}
	w.accelUntil(math.MaxInt64)
	w.closing(first, tr.TimeAt(tr.Len()-1))
	return encoder.New(out).Encode(&proto.FIT{Messages: w.msgs})
}

func (w *fitWriter) add(m interface {
	ToMesg(*mesgdef.Options) proto.Message
}) {
	w.msgs = append(w.msgs, m.ToMesg(nil))
}

func (w *fitWriter) preamble(first time.Time, accel bool) {
	created := first.Truncate(time.Second)
	w.add(mesgdef.NewFileId(nil).SetType(typedef.FileActivity).SetManufacturer(typedef.ManufacturerDevelopment).SetProduct(0).SetTimeCreated(created))
	whole, ms := w.split(first)
	if w.shift != 0 {
		w.add(mesgdef.NewTimestampCorrelation(nil).SetTimestamp(created).SetTimestampMs(uint16(first.Nanosecond() / 1e6)).
			SetSystemTimestamp(whole).SetSystemTimestampMs(ms))
	}
	if accel {
		w.add(mesgdef.NewThreeDSensorCalibration(nil).SetTimestamp(whole).SetSensorType(typedef.SensorTypeAccelerometer).
			SetCalibrationFactor(1).SetCalibrationDivisor(countsPerG).SetLevelShift(levelShift).SetOffsetCal([3]int32{}).
			SetOrientationMatrix([9]int32{65535, 0, 0, 0, 65535, 0, 0, 0, 65535}))
	}
	w.add(mesgdef.NewEvent(nil).SetTimestamp(whole).SetEvent(typedef.EventTimer).SetEventType(typedef.EventTypeStart))
}

func (w *fitWriter) closing(first, last time.Time) {
	begin, _ := w.split(first)
	end, _ := w.split(last)
	ms := uint32(last.Sub(first) / time.Millisecond)
	w.add(mesgdef.NewEvent(nil).SetTimestamp(end).SetEvent(typedef.EventTimer).SetEventType(typedef.EventTypeStopAll))
	w.add(mesgdef.NewLap(nil).SetTimestamp(end).SetStartTime(begin).SetTotalElapsedTime(ms).SetTotalTimerTime(ms))
	w.add(mesgdef.NewSession(nil).SetTimestamp(end).SetStartTime(begin).SetTotalElapsedTime(ms).SetTotalTimerTime(ms).
		SetSport(typedef.SportDriving).SetNumLaps(1))
	w.add(mesgdef.NewActivity(nil).SetTimestamp(end).SetTotalTimerTime(ms).SetNumSessions(1).
		SetType(typedef.ActivityManual).SetEvent(typedef.EventActivity).SetEventType(typedef.EventTypeStop))
}

// metadata adds a fix at the full rate.
func (w *fitWriter) metadata(f *recording.Fix) {
	g := mesgdef.NewGpsMetadata(nil)
	g.Timestamp, g.TimestampMs = w.split(f.Time)
	g.UtcTimestamp = f.Time.Truncate(time.Second)
	common(f, &g.PositionLat, &g.PositionLong, &g.EnhancedAltitude, &g.EnhancedSpeed)
	if f.Has(recording.Course) {
		g.Heading = uint16(math.Mod(math.Round(f.Q[recording.Course]*100), 36000))
	}
	if f.Has(recording.VelUp) {
		for i, c := range [...]recording.Column{recording.VelEast, recording.VelNorth, recording.VelUp} {
			g.Velocity[i] = velocity(f.Q[c])
		}
	}
	w.add(g)
}

// velocity is a component in m/s as gps_metadata has it: whole cm/s in 16 bits,
// the highest of which means that there is none.
func velocity(v float64) int16 {
	if !(math.Abs(v) < 327) {
		return math.MaxInt16
	}
	return int16(math.Round(v * 100))
}

// record adds a whole-second record.
func (w *fitWriter) record(f *recording.Fix) {
	r := mesgdef.NewRecord(nil)
	r.Timestamp, _ = w.split(f.Time)
	common(f, &r.PositionLat, &r.PositionLong, &r.EnhancedAltitude, &r.EnhancedSpeed)
	w.add(r)
}

// common fills in what both kinds of message have: position in semicircles,
// altitude in fifths of a metre above -500 m, speed in mm/s.
func common(f *recording.Fix, lat, lon *int32, altitude, speed *uint32) {
	if f.Has(recording.LatDeg) {
		*lat = int32(math.Round(f.Q[recording.LatDeg] * semicircles))
		*lon = int32(math.Round(f.Q[recording.LonDeg] * semicircles))
	}
	if f.Has(recording.Altitude) {
		*altitude = uint32(math.Round((f.Q[recording.Altitude] + 500) * 5))
	}
	if f.Has(recording.Speed) {
		*speed = uint32(math.Round(f.Q[recording.Speed] * 1000))
	}
}

// accelUntil adds the accelerometer's batches that end before an instant.
func (w *fitWriter) accelUntil(nano int64) {
	for w.acc.Len() > w.next {
		end := min(w.next+accelBatch, w.acc.Len())
		if nano != math.MaxInt64 && (end < w.next+accelBatch || w.acc.NanoUTC[end-1] >= nano) {
			return
		}
		start := w.acc.NanoUTC[w.next]
		// A message spans whole milliseconds in 16 bits: cut it at a gap.
		for i := w.next + 1; i < end; i++ {
			if w.acc.NanoUTC[i]-start > int64(60*time.Second) {
				end = i
			}
		}
		start = recording.Nano(recording.Instant(start).Round(time.Millisecond)) // as it will be written
		m := mesgdef.NewAccelerometerData(nil)
		m.Timestamp, m.TimestampMs = w.split(recording.Instant(start))
		for i := w.next; i < end; i++ {
			off := math.Max(0, math.Round(float64(w.acc.NanoUTC[i]-start)/1e6))
			m.SampleTimeOffset = append(m.SampleTimeOffset, uint16(off))
			m.AccelX = append(m.AccelX, counts(w.acc.X[i]))
			m.AccelY = append(m.AccelY, counts(w.acc.Y[i]))
			m.AccelZ = append(m.AccelZ, counts(w.acc.Z[i]))
		}
		w.add(m)
		w.next = end
	}
}

// counts is the sensor's reading of a specific force in m/s².
func counts(f float64) uint16 {
	c := math.Round(f/unit.GravityStandard*countsPerG) + levelShift
	return uint16(max(0, min(65534, c)))
}
