package fit

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/diag"
)

// events collects laps, events and the devices that took part into a small file
// of their own for tormoder/fit, cut down to the wanted fields: what the library
// chokes on in others costs nothing. Its accumulators, which are package
// variables, belong to fields of records, so that decodes may run beside one
// another.
type events struct {
	file []byte
	last *definition // of the message before
	n    int         // messages
	at   int64       // of the first in the input
}

// maxEvents bounds the messages of a file: the library takes about a kilobyte
// for each.
const maxEvents = 4096

const fileHeader = 14 // bytes

// opening is a file_id, which the library wants first: an activity's.
var opening = []byte{headerDefinition, 0, 0, 0, 0, 1, 0, 1, typeEnum, 0, 4}

// event keeps a message for the library.
func (g *gather) event(m *message) {
	e := &g.events
	if e.n == 0 {
		*e = events{file: append(append(e.file[:0], make([]byte, fileHeader)...), opening...), at: m.place}
	}
	if e.last != m.definition {
		e.last = m.definition
		e.file = append(e.file, headerDefinition, 0, m.arch)
		e.file = m.order.AppendUint16(e.file, m.global)
		e.file = append(e.file, byte(1+len(m.parts)), fieldTime, 4, typeUint32)
		for _, f := range m.parts {
			e.file = append(e.file, f.num, f.size, f.base)
		}
	}
	e.file = m.order.AppendUint32(append(e.file, 0), m.stamp)
	for _, f := range m.parts {
		e.file = append(e.file, m.bytes(f.num)...)
	}
	if e.n++; e.n == maxEvents {
		g.decodeEvents()
	}
}

// decodeEvents reads the messages kept so far.
func (g *gather) decodeEvents() {
	e := &g.events
	if e.n == 0 {
		return
	}
	act, err := decodeActivity(e.closed())
	if err != nil {
		g.note("decoder", diag.Dropped, e.at, "%v; %d messages are lost", err, e.n)
		act = new(tormoder.ActivityFile)
	}
	e.n = 0
	for _, l := range act.Laps {
		g.mark(l.Timestamp, "lap", "")
	}
	for _, v := range act.Events {
		switch v.Event {
		case tormoder.EventUserMarker:
			g.mark(v.Timestamp, "event", "marker")
		case tormoder.EventLap:
			g.mark(v.Timestamp, "lap", "")
		case tormoder.EventTimer:
			g.timer(v)
		}
	}
	for _, d := range act.DeviceInfos {
		switch tormoder.AntplusDeviceType(d.DeviceType) {
		case tormoder.AntplusDeviceTypeBikeSpeed, tormoder.AntplusDeviceTypeBikeSpeedCadence:
			g.wheel = g.wheel || d.SourceType == tormoder.SourceTypeAntplus
		}
		if d.DeviceIndex == tormoder.DeviceIndexCreator && d.SoftwareVersion != 0xFFFF {
			g.say("firmware", fmt.Sprintf("%.2f", float64(d.SoftwareVersion)/100))
		}
	}
}

// timer marks where the timer was started and stopped.
func (g *gather) timer(v *tormoder.EventMsg) {
	switch v.EventType {
	case tormoder.EventTypeStart:
		g.mark(v.Timestamp, "start", "timer")
	case tormoder.EventTypeStop, tormoder.EventTypeStopAll, tormoder.EventTypeStopDisable, tormoder.EventTypeStopDisableAll:
		g.mark(v.Timestamp, "stop", "timer")
	}
}

// mark takes an instant as the library gives it, which has no power-on.
func (g *gather) mark(t time.Time, kind, text string) {
	if !tormoder.IsBaseTime(t) {
		g.marks = append(g.marks, rawMark{rawNano(uint32(t.Unix() - epochUnix)), kind, text})
	}
}

// closed returns the file with its header and checksum.
func (e *events) closed() []byte {
	h := e.file[:fileHeader]
	h[0], h[1] = fileHeader, 0x20
	binary.LittleEndian.PutUint16(h[2:], 2118) // version of the profile
	binary.LittleEndian.PutUint32(h[4:], uint32(len(e.file)-fileHeader))
	copy(h[8:], ".FIT")
	binary.LittleEndian.PutUint16(h[12:], checksum(0, h[:12]))
	return binary.LittleEndian.AppendUint16(e.file, checksum(0, e.file))
}

// decodeActivity hands a file to the library. Its panics are errors.
func decodeActivity(file []byte) (act *tormoder.ActivityFile, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the decoder of events breaks: %v", p)
		}
	}()
	f, err := tormoder.Decode(bytes.NewReader(file))
	if err != nil {
		return nil, err
	}
	if act, err = f.Activity(); err == nil && act == nil {
		err = errors.New("the decoder of events gives nothing")
	}
	return act, err
}
