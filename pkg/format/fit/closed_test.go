package fit

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/hex"
	"math"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// Numbers marked R are from a reference repository (the FIT SDK for JavaScript,
// profile 21.202, or the documentation of muktihari/fit v0.26.1), C computed
// from a published definition, M from memory of the protocol document.

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.NewReplacer(" ", "", "|", "").Replace(s))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func read(t testing.TB, b []byte) *recording.Recording {
	t.Helper()
	rec, err := Read(context.Background(), bytes.NewReader(b), "x.fit", Options{})
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// count returns how many problems of a kind there are.
func count(rec *recording.Recording, kind string) int {
	n := 0
	for _, g := range rec.Problems.Groups() {
		if g.Kind == kind {
			n += g.Count
		}
	}
	return n
}

func within(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// R: the nibble table of the protocol. C: the check value of CRC-16/ARC.
func TestChecksum(t *testing.T) {
	if got := checksum(0, []byte("123456789")); got != 0xBB3D {
		t.Errorf("CRC of 123456789 is %04X, want BB3D", got)
	}
	slow := func(b []byte) (crc uint16) {
		for _, c := range b {
			crc = crc>>4 ^ nibbles[crc&15] ^ nibbles[c&15]
			crc = crc>>4 ^ nibbles[crc&15] ^ nibbles[c>>4]
		}
		return crc
	}
	b := recordsFile(20)
	for n := range b {
		if checksum(0, b[:n]) != slow(b[:n]) {
			t.Fatalf("the checksums of %d bytes differ", n)
		}
	}
}

// shortFile is R: fitFileShort of the FIT SDK's test data, 52 bytes.
const shortFile = "0E 20 8B 08 24 00 00 00 2E 46 49 54 8E A3 | 40 00 00 00 00 04 00 01 00 01 02 84 04 04 86 08 0A 07 |" +
	"00 04 01 00 00 CA 9A 3B 61 62 63 64 65 66 67 68 69 00 | 5D F2"

func TestWholeFile(t *testing.T) {
	b := unhex(t, shortFile)
	if len(b) != 52 || checksum(0, b[:12]) != 0xA38E || checksum(0, b[:50]) != 0xF25D || checksum(0, b) != 0 { // R
		t.Errorf("checksums %04X %04X %04X", checksum(0, b[:12]), checksum(0, b[:50]), checksum(0, b))
	}
	if Sniff(b) != 100 {
		t.Error("not told for a FIT file")
	}
	rec, err := Read(context.Background(), bytes.NewReader(b), "", Options{})
	if err == nil || len(rec.Problems.Groups()) != 0 {
		t.Errorf("error %v, problems %v: a file without a record is no log, and not damaged", err, rec.Problems.Groups())
	}
	if rec.Logger["manufacturer"] != "Garmin" { // R: manufacturer 1
		t.Errorf("logger %v", rec.Logger)
	}
	b[50], b[51] = 0, 0 // R: must fail its check
	rec, _ = Read(context.Background(), bytes.NewReader(b), "", Options{})
	if count(rec, "checksum") != 1 {
		t.Error("a wrong checksum is not told")
	}
}

// one is a message of a single field of 4 bytes, number 0.
func one(base byte, v uint32) *message {
	d := &definition{order: binary.LittleEndian, where: new([256]placed)}
	d.where[0] = placed{size: 4, base: base}
	return &message{definition: d, payload: binary.LittleEndian.AppendUint32(nil, v)}
}

func TestScales(t *testing.T) {
	// R: epoch 1989-12-31; date_time 1000000000 is 2021-09-08T01:46:40Z.
	if time.Date(1989, 12, 31, 0, 0, 0, 0, time.UTC).Unix() != epochUnix || rawNano(1000000000) != time.Date(2021, 9, 8, 1, 46, 40, 0, time.UTC).UnixNano() {
		t.Error("epoch")
	}
	// C: 180/2^31 degrees. R: invalid is 0x7FFFFFFF.
	degrees := func(v uint32) float64 { return one(typeSint32, v).value(0) * semicircle }
	if degrees(536870912) != 45 || degrees(1073741824) != 90 || !within(degrees(1<<32-1461481927), -122.5, 5e-8) || !math.IsNaN(degrees(math.MaxInt32)) {
		t.Error("degrees")
	}
	// R: raw 3135 is 127.0 m in the SDK's decoder test; C: 116.4 m is raw 3082.
	height := func(v uint32) float64 { return altitude(one(typeUint32, v).value(0)) }
	if height(3135) != 127 || !within(height(3082), 116.4, 1e-9) || !math.IsNaN(height(math.MaxUint32)) {
		t.Error("altitude")
	}
}

// R: the FIT SDK's file of compressed speed and distance: 1.39 and 2.49 m/s. It
// has no time stamps, so the same payloads are read again with them.
func TestCompressedSpeed(t *testing.T) {
	b := unhex(t, "0E 20 E8 03 11 00 00 00 2E 46 49 54 CD 09 40 00 00 14 00 01 08 03 0D 00 8B 00 08 00 F9 00 14 50 0B")
	rec, err := Read(context.Background(), bytes.NewReader(b), "", Options{})
	if err == nil || count(rec, "no-time") != 2 || count(rec, "checksum") != 0 {
		t.Errorf("%v, %v", err, rec.Problems.Groups())
	}
	w := newWriter(14)
	w.define(0, mesgRecord, fieldTime, typeUint32, 4, 8, typeByte, 3)
	for i, p := range []string{"8B0008", "F90014", "FFFFFF", "FF0F20"} {
		w.values(0, 1000000000+int64(i), 4)
		w.body = append(w.body, unhex(t, p)...)
	}
	rec = read(t, w.file())
	tr := rec.Primary()
	if tr.Len() != 2 || tr.Value(recording.Speed, 0) != 1.39 || tr.Value(recording.Speed, 1) != 2.49 || tr.SpeedStep != 0.01 {
		t.Errorf("%d fixes, speeds %v, step %g", tr.Len(), tr.Col(recording.Speed), tr.SpeedStep)
	}
}

// M, agreeing with R's rule: offsets 27, 29, 2, 5, 1 after ...3B are ...3B, 3D,
// 42, 45, 61.
func TestCompressedTimestamps(t *testing.T) {
	w := newWriter(14)
	w.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2)
	w.define(1, mesgRecord, 6, typeUint16, 2)
	const base = 0x3B9ACA3B // ends in 3B
	w.values(0, base-100, 4, 1, 2)
	w.values(0, base, 4, 1000, 2)
	for _, off := range []byte{27, 29, 2, 5, 1} {
		w.values(headerCompressed|1<<5|off, 2000, 2)
	}
	rec := read(t, w.file())
	var got []int64
	for i := range rec.Primary().Len() {
		got = append(got, rec.Primary().TimeAt(i).Unix()-epochUnix-base+0x3B)
	}
	want := []int64{0x3B - 100, 0x3B, 0x3D, 0x42, 0x45, 0x61}
	if len(got) != len(want) {
		t.Fatalf("stamps %x", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("stamp %d is %#x, want %#x", i, got[i], want[i])
		}
	}
	if count(rec, "time-repeated") != 1 { // offset 27 is the full stamp again
		t.Error("the repeated stamp is not told")
	}
}

// A made-up calibration, consistent with the profile's wording: no published
// worked number was found.
func TestCalibration(t *testing.T) {
	c := calibration{gain: 1.0 / 2048, shift: 32768, offset: [3]float64{10, -20, 30},
		matrix: [9]float64{0, -1, 0, 0, 0, -1, -1, 0, 0}}
	got := c.apply([3]float64{32768 + 10 + 2048, 32768 - 20 - 1024, 32768 + 30 + 512})
	want := [3]float64{0.5 * unit.GravityStandard, -0.25 * unit.GravityStandard, -1 * unit.GravityStandard}
	for i := range want {
		if !within(got[i], want[i], 1e-12) {
			t.Errorf("axis %d: %g, want %g", i, got[i], want[i])
		}
	}
}

// accelFile has a calibration, the samples of one message, and a calibration
// sent again before the next.
func accelFile(first bool) []byte {
	w := newWriter(14)
	w.define(0, mesgCorrelation, fieldTime, typeUint32, 4, 1, typeUint32, 4, 4, typeUint16, 2, 5, typeUint16, 2)
	w.define(1, mesgCalibration, fieldTime, typeUint32, 4, 0, typeEnum, 1, 1, typeUint32, 4, 2, typeUint32, 4, 3, typeUint32, 4,
		4, typeSint32, 12, 5, typeSint32, 36)
	w.define(2, mesgAccel, fieldTime, typeUint32, 4, 0, typeUint16, 2, 1, typeUint16, 4, 2, typeUint16, 4, 3, typeUint16, 4, 4, typeUint16, 4)
	calibrate := func(at, divisor int64) {
		pairs := []int64{at, 4, 0, 1, 1, 4, divisor, 4, 32768, 4, 0, 4, 0, 4, 0, 4}
		for i := range int64(9) {
			pairs = append(pairs, 65535*btoi(i%4 == 0), 4)
		}
		w.values(1, pairs...)
	}
	if first {
		calibrate(9, 2048)
	}
	w.values(2, 10, 4, 250, 2, 0, 2, 10, 2, 32768+2048, 2, 32768, 2, 32768, 2, 32768, 2, 32768, 2, 32768+1024, 2)
	w.values(0, 1000000000, 4, 10, 4, 500, 2, 0, 2)
	calibrate(11, 1024)
	w.values(2, 11, 4, 0, 2, 0, 2, 10, 2, 32768+2048, 2, 0xFFFF, 2, 32768, 2, 32768, 2, 32768, 2, 32768, 2)
	return w.file()
}

func btoi(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// R: a sample's instant is timestamp + timestamp_ms + sample_time_offset.
func TestAccelerometer(t *testing.T) {
	a := read(t, accelFile(true)).Accel
	if a.Len() != 3 { // the fourth has an invalid axis
		t.Fatalf("%d samples", a.Len())
	}
	base := time.Date(2021, 9, 8, 1, 46, 40, 500e6, time.UTC).UnixNano() // 10 s since power-on
	for i, want := range []int64{250e6, 260e6, 1000e6} {
		if got := a.NanoUTC[i] - base; got != want {
			t.Errorf("sample %d at %d ns, want %d", i, got, want)
		}
	}
	g := unit.GravityStandard
	for i, want := range [][3]float64{{g, 0, 0}, {0, 0, g / 2}, {2 * g, 0, 0}} {
		for k, x := range [][]float64{a.X, a.Y, a.Z} {
			if !within(x[i], want[k], 1e-9) {
				t.Errorf("sample %d axis %d: %g, want %g", i, k, x[i], want[k])
			}
		}
	}
	// A calibration that comes after the samples holds for them too.
	if a := read(t, accelFile(false)).Accel; !within(a.X[0], 2*g, 1e-9) {
		t.Errorf("late calibration: %g", a.X[0])
	}
}

func TestCalibratedSamples(t *testing.T) {
	w := newWriter(14)
	w.define(0, mesgAccel, fieldTime, typeUint32, 4, 1, typeUint16, 4, 8, typeSint16, 4, 9, typeSint16, 4, 10, typeSint16, 4)
	w.values(0, 1000000000, 4, 0, 2, 20, 2, 1000, 2, -500, 2, 0, 2, 0, 2, 0x7FFF, 2, 250, 2)
	w.define(1, mesgAccel, fieldTime, typeUint32, 4, 1, typeUint16, 2, 5, typeFloat32, 4, 6, typeFloat32, 4, 7, typeFloat32, 4)
	w.values(1, 1000000001, 4, 0, 2, int64(math.Float32bits(0.5)), 4, int64(math.Float32bits(-1)), 4, 0, 4)
	rec := read(t, w.file())
	a, g := rec.Accel, unit.GravityStandard
	if a.Len() != 2 || !within(a.X[0], -0.5*g, 1e-9) || !within(a.Z[0], 0.25*g, 1e-9) || !within(a.X[1], 0.5*g, 1e-9) || !within(a.Y[1], -g, 1e-9) {
		t.Errorf("%+v", a)
	}
	// Counts without any calibration mean nothing.
	w = newWriter(14)
	w.define(0, mesgAccel, fieldTime, typeUint32, 4, 1, typeUint16, 2, 2, typeUint16, 2, 3, typeUint16, 2, 4, typeUint16, 2)
	w.values(0, 1000000000, 4, 0, 2, 1, 2, 2, 2, 3, 2)
	rec, err := Read(context.Background(), bytes.NewReader(w.file()), "", Options{})
	if err == nil || rec.Problems.Count(diag.Dropped) == 0 {
		t.Errorf("counts without calibration: %v", err)
	}
}
