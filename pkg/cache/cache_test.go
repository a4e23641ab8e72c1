package cache

import (
	"bytes"
	"math"
	"reflect"
	"testing"
	"time"

	"fromrest/pkg/diag"
)

func TestWhatIsKeptIsExact(t *testing.T) {
	type inner struct{ X *float64 }
	type value struct {
		F      []float64
		Column Floats
		Empty  []string
		Nil    []string
		Hollow Floats
		None   Floats
		Map    map[string]string
		NoMap  map[string]string
		P      *inner
		None2  *inner
		A      [2]float64
		N      int
		B      bool
		Small  int8
		At     []time.Time
	}
	zero := 0.0
	odd := math.Float64frombits(0x7ff8000000000abc) // a NaN that is not the usual one
	numbers := []float64{odd, math.Copysign(0, -1), math.Inf(1), math.Inf(-1), 5e-324, 1, 0.1}
	instants := []time.Time{{}, time.Date(1, 1, 1, 9, 30, 0, 123456789, time.UTC), time.Date(2026, 6, 14, 9, 58, 43, 1, time.FixedZone("", -12600)),
		time.Date(1969, 12, 31, 23, 59, 59, 999999999, time.UTC)}
	v := value{F: numbers, Column: numbers, Empty: []string{}, Hollow: Floats{}, Map: map[string]string{"a": "\xff", "b": ""},
		P: &inner{&zero}, A: [2]float64{1, math.Copysign(0, -1)}, N: -5, B: true, Small: -3, At: instants}
	b, err := Encode(&v)
	if err != nil {
		t.Fatal(err)
	}
	var got value
	if err := Decode(b, &got); err != nil {
		t.Fatal(err)
	}
	again, _ := Encode(&got)
	if !bytes.Equal(b, again) || got.Empty == nil || got.Nil != nil || got.P.X == nil || !math.Signbit(got.A[1]) || !math.IsNaN(got.F[0]) || got.Small != -3 {
		t.Errorf("%+v came back as %+v", v, got)
	}
	if got.Hollow == nil || got.None != nil || got.NoMap != nil || got.None2 != nil || got.Map["a"] != "\xff" || len(got.Map) != 2 || got.N != -5 || !got.B {
		t.Errorf("%+v came back as %+v", v, got)
	}
	for i, x := range numbers {
		if math.Float64bits(got.F[i]) != math.Float64bits(x) || math.Float64bits(got.Column[i]) != math.Float64bits(x) {
			t.Errorf("%x came back as %x and %x", math.Float64bits(x), math.Float64bits(got.F[i]), math.Float64bits(got.Column[i]))
		}
	}
	for i, at := range instants {
		_, want := at.Zone()
		if _, offset := got.At[i].Zone(); !got.At[i].Equal(at) || offset != want || at.Location() == time.UTC && got.At[i] != at {
			t.Errorf("%v came back as %v", at, got.At[i])
		}
	}
	for i := range b {
		var bad value
		if err := Decode(b[:i], &bad); err == nil {
			t.Errorf("%d of %d bytes were enough", i, len(b))
		}
	}
	if err := Decode(append(bytes.Clone(b), 0), &got); err == nil {
		t.Error("a byte too many was overlooked")
	}
}

func TestProblemsAreTheSameAfterEncoding(t *testing.T) {
	var a, b, empty diag.List
	for i := 1; i <= 250; i++ {
		a.Addf("checksum", diag.Dropped, i, "bad \xff\x00 bytes")
	}
	a.Add(diag.Problem{Kind: "truncated", Effect: diag.Note, Byte: 1 << 40})
	for _, l := range []*diag.List{&a, &empty} {
		data, err := Encode(l)
		if err != nil {
			t.Fatal(err)
		}
		if err := Decode(data, &b); err != nil || !reflect.DeepEqual(*l, b) {
			t.Errorf("%v: %+v\nwant %+v", err, b, *l)
		}
	}
	data, _ := Encode(&a)
	_ = Decode(data, &b)
	b.Addf("checksum", diag.Dropped, 9, "one more")
	if n := b.Count(diag.Dropped); n != 251 {
		t.Errorf("%d problems after one more", n)
	}
	if err := Decode(data[:len(data)/2], &b); err == nil || b.Count(diag.Dropped) != 251 {
		t.Errorf("half of the bytes: %v, %d problems", err, b.Count(diag.Dropped))
	}
}

// What encoding would leave out or change is refused.
func TestOnlyPlainDataIsTaken(t *testing.T) {
	type hidden struct{ A, b float64 }
	_ = hidden{}.b
	for _, v := range []any{&struct{ f func() }{}, &struct{ F func() }{}, &hidden{}, []hidden{}, &struct{ P *hidden }{}, map[string]int{}, struct{ X any }{}} {
		if _, err := Encode(v); err == nil {
			t.Errorf("%T was taken for encoded", v)
		}
	}
}

// Bytes that Encode did not write must not bring the program down.
func FuzzDecode(f *testing.F) {
	type value struct {
		F  []float64
		C  Floats
		T  time.Time
		M  map[string]string
		P  *string
		At []time.Time
	}
	b, err := Encode(&value{F: []float64{1}, C: Floats{2}, M: map[string]string{"a": "b"}})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Fuzz(func(_ *testing.T, b []byte) {
		var v value
		_ = Decode(b, &v)
	})
}
