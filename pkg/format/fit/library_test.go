package fit

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	muktihari "github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/proto"
	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// edges are values where a reader goes wrong.
var edges = []int64{0, 1, -1, 127, 128, 254, 255, 256, 32766, 32767, 32768, 65534, 65535, 1 << 30, 1<<30 - 1, 1<<30 + 1, 1<<31 - 1, 1 << 31, -1 << 30, -1<<30 - 1, 1<<32 - 1}

// better lists the fields that a valid one puts out of use: both libraries let
// the poorer one win.
var better = map[byte][]byte{73: {6}, 78: {2}}

// Records agree with tormoder/fit to the last bit, for every choice of fields,
// either order of bytes, and values at the edges of their ranges. The library's
// known traps are kept from it: of several fields for one quantity it is given
// one.
func TestRecordsAgreeWithLibrary(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	nums := []byte{0, 1, 2, 6, 31, 32, 73, 78}
	compared := 0
	for range 400 {
		whole, cut := newWriter(14), newWriter(14)
		whole.big = rng.IntN(2) == 0
		cut.big = whole.big
		cut.define(0, mesgFileID, 0, typeEnum, 1)
		cut.data(0, []byte{4})
		def := []byte{fieldTime, typeUint32, 4}
		for _, k := range rng.Perm(len(nums))[:1+rng.IntN(len(nums))] {
			f := profile[mesgRecord].find(nums[k])
			def = append(def, f.num, f.base, baseSize[f.base])
		}
		whole.define(0, mesgRecord, def...)
		for i := range 60 {
			v := map[byte]int64{fieldTime: 1000000000 + int64(i)}
			out := map[byte]bool{}
			var pairs []int64
			for k := 0; k < len(def); k += 3 {
				if def[k] != fieldTime {
					v[def[k]] = int64(rng.Uint32())
					if rng.IntN(3) == 0 {
						v[def[k]] = edges[rng.IntN(len(edges))]
					}
				}
				pairs = append(pairs, v[def[k]], int64(def[k+2]))
				if uint32(v[def[k]]) != math.MaxUint32 {
					for _, worse := range better[def[k]] {
						out[worse] = true
					}
				}
			}
			whole.values(0, pairs...)
			var less []byte
			pairs = nil
			for k := 0; k < len(def); k += 3 {
				if !out[def[k]] {
					less = append(less, def[k:k+3]...)
					pairs = append(pairs, v[def[k]], int64(def[k+2]))
				}
			}
			cut.define(0, mesgRecord, less...)
			cut.values(0, pairs...)
		}
		act, err := decodeActivity(cut.file())
		if err != nil || len(act.Records) != 60 {
			t.Fatal(err)
		}
		rec, _ := readBytes(whole.file())
		have := map[int64]recording.Fix{}
		if tr := rec.Primary(); tr != nil {
			for i := range tr.Len() {
				have[tr.TimeAt(i).Unix()] = tr.At(i)
			}
		}
		for _, m := range act.Records {
			want := fixOf(m)
			got, ok := have[m.Timestamp.Unix()]
			if ok != (want.Has(recording.Speed) || want.Has(recording.LatDeg)) || ok && !alike(&got, &want) {
				t.Fatalf("fields %v: %v, library %v", def, got, want)
			}
			compared++
		}
	}
	if compared != 24_000 {
		t.Errorf("%d compared", compared)
	}
}

// fixOf is a record as tormoder/fit reads it.
func fixOf(m *tormoder.RecordMsg) recording.Fix {
	f := recording.NewFix(m.Timestamp)
	q := &f.Q
	if lat, lon := m.PositionLat.Degrees(), m.PositionLong.Degrees(); lat == lat && lon == lon {
		q[recording.LatDeg], q[recording.LonDeg] = lat, lon
	}
	q[recording.Speed], q[recording.Altitude], q[recording.VelUp] = m.GetEnhancedSpeedScaled(), m.GetEnhancedAltitudeScaled(), m.GetVerticalSpeedScaled()
	if m.GpsAccuracy != 0xFF {
		q[recording.PosSD] = float64(m.GpsAccuracy)
	}
	return f
}

// alike reports whether two fixes agree to the last bit.
func alike(a, b *recording.Fix) bool {
	return slices.EqualFunc(a.Q[:], b.Q[:], func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) || x != x && y != y })
}

// listener collects what muktihari/fit reads, in mm/s.
type listener struct {
	records map[int64][]uint32 // speeds by time stamp
	gps     []uint32           // speeds in their order
	samples int
}

// OnMesg implements the decoder's listener.
func (l *listener) OnMesg(m proto.Message) {
	stamp := m.FieldValueByNum(fieldTime).Uint32()
	switch uint16(m.Num) {
	case mesgRecord:
		if v := m.FieldValueByNum(73).Uint32(); v != math.MaxUint32 {
			l.records[rawNano(stamp)] = append(l.records[rawNano(stamp)], v)
		} else if v := m.FieldValueByNum(6).Uint16(); v != math.MaxUint16 {
			l.records[rawNano(stamp)] = append(l.records[rawNano(stamp)], uint32(v))
		}
	case mesgGPS:
		l.gps = append(l.gps, m.FieldValueByNum(4).Uint32())
	case mesgAccel:
		l.samples += len(m.FieldValueByNum(1).SliceUint16())
	}
}

// Every recording holds the speeds that muktihari/fit reads, at the same
// instants where they are in UTC, and all samples.
func TestSpeedsAgreeWithLibrary(t *testing.T) {
	logs := seeds(t)
	for _, name := range testlog.Names(logs) {
		l := &listener{records: map[int64][]uint32{}}
		dec := muktihari.New(bytes.NewReader(logs[name]), muktihari.WithIgnoreChecksum(), muktihari.WithBroadcastOnly(),
			muktihari.WithNoComponentExpansion(), muktihari.WithMesgListener(l))
		for dec.Next() {
			if _, err := dec.Decode(); err != nil {
				break // what came before is compared
			}
		}
		rec := read(t, logs[name])
		for _, tr := range rec.Tracks {
			for i, v := range tr.Col(recording.Speed) {
				switch mm := uint32(math.Round(v * 1000)); {
				case tr.Name == "gps_metadata":
					if len(l.gps) != tr.Len() || l.gps[i] != mm {
						t.Fatalf("%s: fix %d at %d mm/s, library %d fixes", name, i, mm, len(l.gps))
					}
				case v != v || len(l.records[tr.NanoAt(i)]) == 0:
				case !slices.Contains(l.records[tr.NanoAt(i)], mm):
					t.Fatalf("%s: record %d at %d mm/s, library %v", name, i, mm, l.records[tr.NanoAt(i)])
				}
			}
			if n := len(l.records); tr.Name == "record" && rec.Problems.Count(diag.Dropped) == 0 && n > tr.Len() {
				t.Errorf("%s: %d records, library %d", name, tr.Len(), n)
			}
		}
		if a := rec.Accel; a != nil && rec.Problems.Count(diag.Dropped) == 0 && a.Len() != l.samples {
			t.Errorf("%s: %d samples, library %d", name, a.Len(), l.samples)
		}
	}
}

// Files may be read beside one another, those with fields that tormoder/fit
// accumulates in package variables too: the race detector sees none.
func TestManyAtOnce(t *testing.T) {
	w := newWriter(14)
	w.define(0, mesgRecord, fieldTime, typeUint32, 4, 8, typeByte, 3, 18, typeUint8, 1, 28, typeUint16, 2)
	w.define(1, mesgLap, fieldTime, typeUint32, 4, 2, typeUint32, 4)
	w.define(2, mesgEvent, fieldTime, typeUint32, 4, 0, typeEnum, 1, 1, typeEnum, 1)
	w.define(3, mesgDevice, fieldTime, typeUint32, 4, 0, typeUint8, 1, 5, typeUint16, 2)
	w.values(3, 1000000000, 4, 0, 1, 310, 2)
	for i := range int64(50) {
		w.values(0, 1000000000+i, 4, 0x8B, 1, 0, 1, i, 1, i, 1, 100*i, 2)
		w.values(1, 1000000000+i, 4, 1000000000, 4)
		w.values(2, 1000000000+i, 4, 0, 1, i&1, 1)
	}
	logs := seeds(t)
	logs["accumulated"] = w.file()
	if rec := read(t, w.file()); len(rec.Marks) != 100 || rec.Primary().Len() != 50 || rec.Logger["firmware"] != "3.10" {
		t.Errorf("%d marks, %d fixes, %v", len(rec.Marks), rec.Primary().Len(), rec.Logger)
	}
	var all sync.WaitGroup
	for _, name := range testlog.Names(logs) {
		b := logs[name]
		want := fixesOf(readBytes(b))
		for range 4 {
			all.Go(func() {
				if got := fixesOf(readBytes(b)); got != want {
					t.Errorf("%s: read otherwise beside others", name)
				}
			})
		}
	}
	all.Wait()
}

// fixesOf prints all but the accelerometer of a recording.
func fixesOf(rec *recording.Recording, err error) string {
	rec.Accel = nil
	return testlog.Dump(rec, err)
}

// What the library cannot read costs itself and is told.
func TestLibraryFails(t *testing.T) {
	rec := &recording.Recording{}
	g := newGather(rec, 0, 0)
	g.events = events{file: append(make([]byte, fileHeader), opening...), n: 7, at: 99}
	g.events.file = append(g.events.file, 3) // a message without a definition
	g.decodeEvents()
	if p := rec.Problems.Groups(); len(p) != 1 || p[0].Kind != "decoder" || p[0].First().Byte != 99 || rec.Problems.Count(diag.Dropped) != 1 || len(g.marks) != 0 {
		t.Errorf("%v, marks %v", p, g.marks)
	}
}
