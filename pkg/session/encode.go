package session

import (
	"encoding"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"unsafe"
)

// What a log gave is kept between calls as plain bytes: the fields of its types
// in their order, with nothing that names them, because bytes are only ever read
// by the build that wrote them. Every bit comes back: NaN, -0, and the difference
// between nothing and an empty list, which encoding/gob drops.

// errDamaged is what decoding says of bytes that encoding did not write.
var errDamaged = errors.New("not what was encoded")

// encode appends v.
func encode(b []byte, v reflect.Value) ([]byte, error) {
	if m, ok := v.Addr().Interface().(encoding.BinaryMarshaler); ok {
		data, err := m.MarshalBinary()
		return append(binary.AppendUvarint(b, uint64(len(data))), data...), err
	}
	switch v.Kind() {
	case reflect.Bool:
		if v.Bool() {
			return append(b, 1), nil
		}
		return append(b, 0), nil
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return binary.AppendVarint(b, v.Int()), nil
	case reflect.Float64:
		return binary.LittleEndian.AppendUint64(b, math.Float64bits(v.Float())), nil
	case reflect.String:
		return append(binary.AppendUvarint(b, uint64(v.Len())), v.String()...), nil
	case reflect.Pointer:
		if v.IsNil() {
			return append(b, 0), nil
		}
		return encode(append(b, 1), v.Elem())
	case reflect.Slice:
		return encodeSlice(b, v)
	case reflect.Array:
		return encodeElements(b, v)
	case reflect.Map:
		return encodeMap(b, v)
	case reflect.Struct:
		return encodeFields(b, v)
	}
	return b, fmt.Errorf("%s cannot be encoded", v.Type())
}

func encodeFields(b []byte, v reflect.Value) ([]byte, error) {
	var err error
	for i := range v.NumField() {
		if b, err = encode(b, field(v, i)); err != nil {
			return b, err
		}
	}
	return b, nil
}

// field is a struct's field, reached also where another package hides it: a result
// must come back whole.
func field(v reflect.Value, i int) reflect.Value {
	f := v.Field(i)
	if v.Type().Field(i).IsExported() {
		return f
	}
	return reflect.NewAt(f.Type(), unsafe.Pointer(f.UnsafeAddr())).Elem()
}

// encodeSlice writes 0 for nil, else one more than the length.
func encodeSlice(b []byte, v reflect.Value) ([]byte, error) {
	if v.IsNil() {
		return append(b, 0), nil
	}
	b = binary.AppendUvarint(b, uint64(v.Len())+1)
	if f, ok := v.Interface().([]float64); ok {
		b = slices.Grow(b, 8*len(f))
		for _, x := range f {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return b, nil
	}
	return encodeElements(b, v)
}

func encodeElements(b []byte, v reflect.Value) ([]byte, error) {
	var err error
	for i := range v.Len() {
		if b, err = encode(b, v.Index(i)); err != nil {
			return b, err
		}
	}
	return b, nil
}

// encodeMap writes a map of strings in the order of its keys.
func encodeMap(b []byte, v reflect.Value) ([]byte, error) {
	m, ok := v.Interface().(map[string]string)
	if !ok {
		return b, fmt.Errorf("%s cannot be encoded", v.Type())
	}
	if m == nil {
		return append(b, 0), nil
	}
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	b = binary.AppendUvarint(b, uint64(len(m))+1)
	for _, k := range keys {
		for _, s := range []string{k, m[k]} {
			b = append(binary.AppendUvarint(b, uint64(len(s))), s...)
		}
	}
	return b, nil
}

// decoder reads what encode wrote. It believes no length beyond what is left.
type decoder struct {
	b   []byte
	err error
}

func (d *decoder) fail() { d.err, d.b = errDamaged, nil }

// take returns the next n bytes.
func (d *decoder) take(n uint64) []byte {
	if n > uint64(len(d.b)) {
		d.fail()
		return nil
	}
	out := d.b[:n]
	d.b = d.b[n:]
	return out
}

func (d *decoder) uvarint() uint64 {
	x, n := binary.Uvarint(d.b)
	if n <= 0 {
		d.fail()
		return 0
	}
	d.b = d.b[n:]
	return x
}

func (d *decoder) float() float64 {
	b := d.take(8)
	if b == nil {
		return 0
	}
	return math.Float64frombits(binary.LittleEndian.Uint64(b))
}

func (d *decoder) text() string { return string(d.take(d.uvarint())) }

// length returns the length of a slice or map, and false for nil. Each element
// takes a byte at the least.
func (d *decoder) length(size int) (int, bool) {
	n := d.uvarint()
	if n == 0 {
		return 0, false
	}
	if n-1 > uint64(len(d.b)/size) {
		d.fail()
		return 0, false
	}
	return int(n - 1), true
}

// into fills in v.
func (d *decoder) into(v reflect.Value) {
	if d.err != nil {
		return
	}
	if m, ok := v.Addr().Interface().(encoding.BinaryUnmarshaler); ok {
		if data := d.take(d.uvarint()); d.err == nil {
			d.err = m.UnmarshalBinary(data)
		}
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		if b := d.take(1); b != nil {
			v.SetBool(b[0] != 0)
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		x, n := binary.Varint(d.b)
		if n <= 0 || v.OverflowInt(x) {
			d.fail()
			return
		}
		d.b = d.b[n:]
		v.SetInt(x)
	case reflect.Float64:
		v.SetFloat(d.float())
	case reflect.String:
		v.SetString(d.text())
	case reflect.Pointer:
		if b := d.take(1); b != nil && b[0] != 0 {
			v.Set(reflect.New(v.Type().Elem()))
			d.into(v.Elem())
		}
	case reflect.Slice:
		d.slice(v)
	case reflect.Array:
		for i := range v.Len() {
			d.into(v.Index(i))
		}
	case reflect.Map:
		d.texts(v)
	case reflect.Struct:
		for i := range v.NumField() {
			d.into(field(v, i))
		}
	default:
		d.err = fmt.Errorf("%s cannot be decoded", v.Type())
	}
}

func (d *decoder) slice(v reflect.Value) {
	if v.Type() == reflect.TypeFor[[]float64]() {
		n, ok := d.length(8)
		if !ok {
			return
		}
		f := make([]float64, n)
		for i := range f {
			f[i] = d.float()
		}
		v.Set(reflect.ValueOf(f))
		return
	}
	n, ok := d.length(1)
	if !ok {
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), n, n))
	for i := 0; i < n && d.err == nil; i++ {
		d.into(v.Index(i))
	}
}

func (d *decoder) texts(v reflect.Value) {
	n, ok := d.length(2)
	if !ok {
		return
	}
	m := make(map[string]string, n)
	for i := 0; i < n && d.err == nil; i++ {
		k := d.text()
		m[k] = d.text()
	}
	v.Set(reflect.ValueOf(m))
}

// unpack fills in what p points to from all of b.
func unpack(b []byte, p any) error {
	d := &decoder{b: b}
	d.into(reflect.ValueOf(p).Elem())
	if d.err == nil && len(d.b) > 0 {
		d.fail()
	}
	return d.err
}

// pack encodes what p points to.
func pack(p any) ([]byte, error) { return encode(nil, reflect.ValueOf(p).Elem()) }
