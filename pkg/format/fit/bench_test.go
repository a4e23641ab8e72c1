package fit

import (
	"bytes"
	"context"
	"encoding/binary"
	"fromrest/pkg/testlog"
	"math"
	"testing"

	muktihari "github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/proto"
	tormoder "github.com/tormoder/fit"
)

// recordsFile is a file of n records as devices write them, one a second.
func recordsFile(n int) []byte {
	w := newWriter(14)
	w.define(0, mesgFileID, 0, typeEnum, 1)
	w.data(0, []byte{4})
	w.define(1, mesgRecord, fieldTime, typeUint32, 4, 0, typeSint32, 4, 1, typeSint32, 4, 5, typeUint32, 4,
		73, typeUint32, 4, 78, typeUint32, 4, 3, typeUint8, 1, 13, 0x01, 1)
	for i := range n {
		var b []byte
		le := binary.LittleEndian
		b = le.AppendUint32(b, 1000000000+uint32(i))
		b = le.AppendUint32(b, uint32(500000000+i*30))
		b = le.AppendUint32(b, uint32(100000000+i*40))
		b = le.AppendUint32(b, uint32(i*1500))
		b = le.AppendUint32(b, uint32(15000+5000*math.Sin(float64(i)/50)))
		b = le.AppendUint32(b, 3000)
		w.data(1, append(b, 80, 20))
	}
	return w.file()
}

// counting counts what the library alone hands over.
type counting struct{ n int }

// OnMesg implements the decoder's listener.
func (c *counting) OnMesg(proto.Message) { c.n++ }

// BenchmarkRead compares reading with each library's own decoding of the same
// bytes: ratios below 1 mean that reading is quicker.
func BenchmarkRead(b *testing.B) {
	const name = "fit/car-10hz-gps-100hz-accelerometer.fit"
	car := testlog.Recordings(b, name)[name]
	for _, in := range []struct {
		name string
		data []byte
	}{{"records", recordsFile(400_000)}, {"sensors", bytes.Repeat(car, 10)}} {
		if len(in.data) == 0 {
			continue
		}
		b.Run(in.name+"/fromrest", func(b *testing.B) {
			b.SetBytes(int64(len(in.data)))
			b.ReportAllocs()
			for range b.N {
				if _, err := Read(context.Background(), bytes.NewReader(in.data), "", Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(in.name+"/muktihari", func(b *testing.B) {
			b.SetBytes(int64(len(in.data)))
			b.ReportAllocs()
			for range b.N {
				dec := muktihari.New(bytes.NewReader(in.data), muktihari.WithBroadcastOnly(), muktihari.WithMesgListener(&counting{}))
				for dec.Next() {
					if _, err := dec.Decode(); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
		b.Run(in.name+"/tormoder", func(b *testing.B) {
			b.SetBytes(int64(len(in.data)))
			b.ReportAllocs()
			for range b.N {
				if _, err := tormoder.DecodeChained(bytes.NewReader(in.data)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
