package can

import "testing"

// A payload by hand: bytes 2 and 3 hold 0x1234 in Intel order, 0x3412 in Motorola's.
// The bit numbers are those of database files of CAN: of Intel order the start is the
// lowest bit, of Motorola's the highest.
func TestSignalBits(t *testing.T) {
	p := []byte{0xff, 0x00, 0x34, 0x12, 0x80, 0x01, 0xf0, 0x0f}
	for form, want := range map[string]float64{
		"speed=0x1A0:16|16@le,unsigned*1+0:m/s": 0x1234,
		"speed=0x1A0:23|16@be,unsigned*1+0:m/s": 0x3412,
		"speed=416:39|8@be,signed*1:m/s":        -128,
		"speed=0x1A0:52|8@le,unsigned*1+0:m/s":  0xff,
		"speed=0x1A0:4|12@le,unsigned*1+0:m/s":  0x00f,
	} {
		s, err := parseSignal(form)
		if err != nil || s.id != 0x1a0 {
			t.Errorf("%s: %v", form, err)
			continue
		}
		if v, ok := s.raw(p); !ok || v != want {
			t.Errorf("%s: %g, want %g", form, v, want)
		}
		if _, ok := s.raw(p[:2]); ok && s.start > 16 {
			t.Errorf("%s: read from a short frame", form)
		}
	}
	for _, bad := range []string{"", "speed=Speed:km/h", "speed=0x1A0:16|99@le,unsigned*1+0:km/h", "speed=0x1A0:16|16@le,unsigned*0+0:km/h", "speed=0x1A0:16|16@le,unsigned*1+0:rpm"} {
		if _, err := parseSignal(bad); err == nil {
			t.Errorf("%s: taken", bad)
		}
	}
}
