// Package cache remembers what finished logs gave, so that a second call over the
// same logs costs only what changed. Nothing is lost with it but time: whoever asks
// must be able to work everything out again.
//
// What is remembered is plain data: exported fields of numbers, texts, instants,
// lists, maps of texts and pointers to such. Get and Put pass it through a Memory as
// CBOR (RFC 8949), in which every bit comes back: the bits of a NaN, the sign of
// a zero, the difference between nothing and an empty list, an instant to the
// nanosecond with its zone's offset. An entry names its fields but not its type;
// the key must say which build wrote it.
//
// Disk is the Memory that lasts: one compressed file an entry, in a folder that
// any number of processes share and that is kept below a size.
package cache

import (
	"encoding"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"sync"
	"time"

	"github.com/fxamacker/cbor/v2"
)

// Memory keeps bodies under keys. A key stands for everything that shapes what
// its body says; both methods must be safe for concurrent use. Forgetting is
// always allowed.
type Memory interface {
	// Recall returns what was remembered under a key, and false where there is
	// nothing or it is not whole any more.
	Recall(key string) ([]byte, bool)
	// Remember keeps a body under a key, or not.
	Remember(key string, body []byte)
}

// Get fills in what to points to with what Put remembered under the key, and
// reports whether it could.
func Get(m Memory, key string, to any) bool {
	body, ok := m.Recall(key)
	return ok && Decode(body, to) == nil
}

// Put remembers plain data under a key. Data that is not plain is not remembered.
func Put(m Memory, key string, data any) {
	if body, err := Encode(data); err == nil {
		m.Remember(key, body)
	}
}

// encoder and decoder change no value on its way.
var (
	encoder = must(cbor.EncOptions{Sort: cbor.SortBytewiseLexical, ShortestFloat: cbor.ShortestFloatNone, NaNConvert: cbor.NaNConvertNone,
		InfConvert: cbor.InfConvertNone, Time: cbor.TimeRFC3339Nano}.EncMode())
	decoder = must(cbor.DecOptions{UTF8: cbor.UTF8DecodeInvalid, MaxArrayElements: math.MaxInt32, MaxMapPairs: math.MaxInt32}.DecMode())
)

// must is for options that do not depend on any input.
func must[M any](mode M, err error) M {
	if err != nil {
		panic(err)
	}
	return mode
}

// Encode returns the bytes of plain data, and an error for data that would not
// come back whole. Fields with the tag cbor:"-" say that they are not kept.
func Encode(data any) ([]byte, error) {
	if err := plain(reflect.TypeOf(data)); err != nil {
		return nil, err
	}
	return encoder.Marshal(data)
}

// Decode fills in what to points to from all of what Encode returned. Other bytes
// are an error, and to is then filled in in part.
func Decode(body []byte, to any) error { return decoder.Unmarshal(body, to) }

// Floats is a long column of numbers, which is remembered eight bytes a number.
type Floats []float64

// MarshalBinary implements encoding.BinaryMarshaler. Nothing differs from an empty
// column by its length: a byte comes first where there is one.
func (f Floats) MarshalBinary() ([]byte, error) {
	if f == nil {
		return nil, nil
	}
	b := make([]byte, 1, 1+8*len(f))
	for _, x := range f {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b, nil
}

// UnmarshalBinary implements encoding.BinaryUnmarshaler. A length that
// MarshalBinary does not write is an error.
func (f *Floats) UnmarshalBinary(b []byte) error {
	switch {
	case len(b) == 0:
		*f = nil
		return nil
	case len(b)%8 != 1:
		return errors.New("a column of numbers that is cut")
	}
	b = b[1:]
	*f = make(Floats, len(b)/8)
	for i := range *f {
		(*f)[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return nil
}

// known are the types that plain has passed.
var known sync.Map

// plain is an error for a type with parts that encoding would leave out.
func plain(t reflect.Type) error {
	if _, ok := known.Load(t); ok || t == reflect.TypeFor[time.Time]() || t.Implements(reflect.TypeFor[encoding.BinaryMarshaler]()) {
		return nil
	}
	switch t.Kind() {
	case reflect.Bool, reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64, reflect.Float32, reflect.Float64, reflect.String:
	case reflect.Pointer, reflect.Slice, reflect.Array:
		if err := plain(t.Elem()); err != nil {
			return err
		}
	case reflect.Map:
		if t.Key().Kind() != reflect.String || t.Elem().Kind() != reflect.String {
			return fmt.Errorf("%s is not a map of texts", t)
		}
	case reflect.Struct:
		for i := range t.NumField() {
			f := t.Field(i)
			if f.Tag.Get("cbor") == "-" {
				continue
			}
			if !f.IsExported() {
				return fmt.Errorf("%s has the private field %s", t, f.Name)
			}
			if err := plain(f.Type); err != nil {
				return fmt.Errorf("%s.%s: %w", t, f.Name, err)
			}
		}
	default:
		return fmt.Errorf("%s is not plain data", t)
	}
	known.Store(t, true)
	return nil
}
