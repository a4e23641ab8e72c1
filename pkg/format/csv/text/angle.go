package text

import "bytes"

// angleSigns are the bytes that may stand between and behind the parts of an
// angle: blanks, the signs of degrees, minutes and seconds in ASCII, Latin-1 and
// UTF-8, and the letters of the hemispheres that change nothing.
var angleSigns = []byte(" '\"nNeE\xc2\xb0\xba\xe2\x80\xb2\xb3\xb9\x99\x9d:d°m")

// Angle reads an angle in degrees: decimal, with a hemisphere letter before or
// behind, or degrees, minutes and seconds with their signs. South and west are
// negative.
func Angle(b []byte, dec byte) (deg float64, ok bool) {
	neg := Negative(b)
	if IsHemisphere(b) {
		b = Trim(b[1:])
	}
	deg, rest, ok := Number(b, dec)
	if !ok {
		return 0, false
	}
	if deg < 0 || b[0] == '-' {
		neg, deg = true, -deg
	}
	part := 60.0 // of a degree: minutes, then seconds
	for len(rest) > 0 {
		switch {
		case isDigit(rest[0]) && part <= 3600:
			var x float64
			if x, rest, ok = Number(rest, dec); !ok || x >= 60 {
				return 0, false
			}
			deg += x / part
			part *= 60
		case Negative(rest):
			neg = true
			rest = rest[1:]
		case bytes.IndexByte(angleSigns, rest[0]) >= 0:
			rest = rest[1:]
		default:
			return 0, false
		}
	}
	if neg {
		deg = -deg
	}
	return deg, true
}

// Negative reports whether a cell begins with the letter of south or west.
func Negative(b []byte) bool {
	return len(b) > 0 && (b[0]|0x20 == 's' || b[0]|0x20 == 'w')
}

// IsHemisphere reports whether a cell begins with the letter of a hemisphere.
func IsHemisphere(b []byte) bool {
	return Negative(b) || len(b) > 0 && (b[0]|0x20 == 'n' || b[0]|0x20 == 'e')
}
