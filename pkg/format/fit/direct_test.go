package fit

import (
	"bytes"
	"context"
	"math/rand/v2"
	"testing"

	tormoder "github.com/tormoder/fit"

	"fromrest/pkg/recording"
)

// edges are values where a reader goes wrong.
var edges = []int64{0, 1, -1, 127, 128, 254, 255, 256, 32766, 32767, 32768, 65534, 65535, 1 << 30, 1<<30 - 1, 1<<30 + 1, 1<<31 - 1, 1 << 31, -1 << 30, -1<<30 - 1, 1<<32 - 1}

// Reading records here and by the library agrees to the last bit, for every
// choice of fields, either order of bytes, and values at the edges of their
// ranges. The library's known traps are kept from it by the plan: of several
// fields for one quantity it is given one.
func TestDirectAgreesWithLibrary(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	nums := []byte{0, 1, 2, 6, 31, 32, 73, 78}
	compared := 0
	for range 400 {
		w := newWriter(14)
		w.big = rng.IntN(2) == 0
		def := []byte{fieldTime, typeUint32, 4}
		for _, k := range rng.Perm(len(nums))[:1+rng.IntN(len(nums))] {
			for _, f := range wanted[mesgRecord].fields {
				if f.num == nums[k] {
					def = append(def, f.num, f.base, baseSize[f.base])
				}
			}
		}
		w.define(0, mesgRecord, def...)
		var d definition
		if parseDefinition(w.body, &d) != len(w.body) {
			t.Fatal("the definition is not read")
		}
		d.want = wanted[mesgRecord]
		var b batch
		for i := range 60 {
			var pairs []int64
			for k := 0; k < len(def); k += 3 {
				v := int64(rng.Uint32())
				if rng.IntN(3) == 0 {
					v = edges[rng.IntN(len(edges))]
				}
				if def[k] == fieldTime {
					v = 1000000000 + int64(i)
				}
				pairs = append(pairs, v, int64(def[k+2]))
			}
			from := len(w.body)
			w.values(0, pairs...)
			payload := w.body[from+1:]
			p, _ := d.plan(payload)
			if p.trust == never {
				t.Fatalf("layout %v is not read here", p.parts)
			}
			b.add(p, mesgRecord, payload, d.stamp(payload), int64(from))
		}
		act, err := decodeRecords(b.file())
		if err != nil || len(act.Records) != 60 {
			t.Fatal(err)
		}
		for i, m := range act.Records {
			r := recordOf(m)
			if !b.tried[i].here.same(&r) {
				t.Fatalf("fields %v: here %+v, library %+v", b.tried[i].plan.parts, b.tried[i].here, r)
			}
			compared++
		}
	}
	if compared != 24_000 {
		t.Errorf("%d compared", compared)
	}
}

// Most of a long file is read here, and the library sees what is on trial.
func TestDirectIsConfirmedFirst(t *testing.T) {
	seen := 0
	rec, err := readWith(context.Background(), bytes.NewReader(recordsFile(5000)), "", Options{}, func(file []byte) (*tormoder.ActivityFile, error) {
		act, err := decodeRecords(file)
		seen += len(act.Records)
		return act, err
	})
	if err != nil || rec.Primary().Len() != 5000 || seen != trial {
		t.Errorf("%v, %d fixes, %d through the library, want %d", err, rec.Primary().Len(), seen, trial)
	}
}

// Where the library reads otherwise, it is believed throughout.
func TestLibraryIsBelieved(t *testing.T) {
	seen := 0
	rec, err := readWith(context.Background(), bytes.NewReader(recordsFile(5000)), "", Options{}, func(file []byte) (*tormoder.ActivityFile, error) {
		act, err := decodeRecords(file)
		for _, r := range act.Records {
			if seen++; seen == 5 {
				r.EnhancedSpeed = 4321
			}
		}
		return act, err
	})
	if err != nil || seen != 5000 || rec.Primary().Value(recording.Speed, 4) != 4.321 {
		t.Errorf("%v: %d records through the library, speed %v", err, seen, rec.Primary().Value(recording.Speed, 4))
	}
}
