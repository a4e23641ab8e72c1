package text

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

const (
	exactDigits = 19 // that a uint64 holds whatever they are
	longestUnit = 15 // bytes that may follow a number in a cell
)

// pow10 are the powers of ten that float64 holds exactly.
var pow10 = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// Number reads a decimal number at the start of b and returns what follows
// it, such as a unit. dec is the decimal sign. It allocates only for numbers of
// more than 19 digits or with far exponents. Hexadecimal, NaN and infinity are
// not numbers here.
func Number(b []byte, dec byte) (v float64, rest []byte, ok bool) {
	mant, digits, exp, neg, i := scanNumber(b, dec)
	if digits == 0 {
		return 0, b, false
	}
	if digits > exactDigits || mant >= 1<<53 || exp <= -len(pow10) || exp >= len(pow10) {
		s := strings.Replace(strings.Replace(string(b[:i]), string(dec), ".", 1), "\u2212", "-", 1)
		v, err := strconv.ParseFloat(s, 64)
		return v, b[i:], err == nil
	}
	v = float64(mant)
	if exp < 0 {
		v /= pow10[-exp]
	} else {
		v *= pow10[exp]
	}
	if neg {
		v = -v
	}
	return v, b[i:], true
}

// scanNumber reads sign, digits, fraction and exponent. mant holds the first 19
// digits; i is the index after the number.
func scanNumber(b []byte, dec byte) (mant uint64, digits, exp int, neg bool, i int) {
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	} else if bytes.HasPrefix(b, []byte("\u2212")) { // minus sign
		neg = true
		i += 3
	}
	for ; i < len(b) && isDigit(b[i]); i++ {
		mant = mant*10 + uint64(b[i]-'0')
		digits++
	}
	if i < len(b) && b[i] == dec && (digits > 0 || i+1 < len(b) && isDigit(b[i+1])) {
		i++
		for ; i < len(b) && isDigit(b[i]); i++ {
			mant = mant*10 + uint64(b[i]-'0')
			digits++
			exp--
		}
	}
	if digits == 0 {
		return 0, 0, 0, false, 0
	}
	if i+1 < len(b) && b[i]|0x20 == 'e' {
		j, e, eneg := i+1, 0, false
		if b[j] == '-' || b[j] == '+' {
			eneg = b[j] == '-'
			j++
		}
		k := j
		for ; j < len(b) && isDigit(b[j]) && e < 1000; j++ {
			e = e*10 + int(b[j]-'0')
		}
		if j > k {
			if eneg {
				e = -e
			}
			exp += e
			i = j
		}
	}
	return mant, digits, exp, neg, i
}

// grouped reads a number with a sign between groups of three digits, such
// as 1,234.5 or 1.234,5 or 1'234.5.
func grouped(b []byte, dec byte) (v float64, rest []byte, ok bool) {
	group := byte(',')
	if dec == ',' {
		group = '.'
	}
	i := bytes.IndexByte(b, group)
	if i < 0 {
		group = '\''
		i = bytes.IndexByte(b, group)
	}
	if i < 1 || i > 4 {
		return 0, b, false
	}
	plain := bytes.Clone(b[:i])
	for i < len(b) && b[i] == group {
		if i+4 > len(b) || !AllDigits(b[i+1:i+4]) {
			return 0, b, false
		}
		plain = append(plain, b[i+1:i+4]...)
		i += 4
	}
	return Number(append(plain, b[i:]...), dec)
}

func isDigit(c byte) bool { return c-'0' <= 9 }

// digits counts the digits at the start of b.
func digits(b []byte) int {
	n := 0
	for n < len(b) && isDigit(b[n]) {
		n++
	}
	return n
}

// AllDigits reports whether b is digits only, one at least.
func AllDigits(b []byte) bool {
	return len(b) > 0 && digits(b) == len(b)
}

// Scaled reads a decimal number exactly as a count of 1/scale, without a
// detour through floating point: Scaled("1392364131182.354", '.', 1e6) is
// 1392364131182354000, the nanoseconds of that many milliseconds.
func Scaled(b []byte, dec byte, scale int64) (n int64, rest []byte, ok bool) {
	mant, digits, exp, neg, i := scanNumber(b, dec)
	if digits > exactDigits && b[0] == '0' { // which says nothing
		return Scaled(b[1:], dec, scale)
	}
	if extra := digits - exactDigits; extra > 0 && exp <= -extra && AllDigits(b[i-extra:i]) {
		n, _, ok = Scaled(b[:i-extra], dec, scale) // finer than a float64 says
		return n, b[i:], ok
	}
	if digits == 0 || digits > exactDigits {
		return 0, b, false
	}
	if exp > 0 || exp < -exactDigits {
		v, _, ok := Number(b[:i], dec)
		v *= float64(scale)
		return int64(math.RoundToEven(v)), b[i:], ok && math.Abs(v) < math.MaxInt64
	}
	one := uint64(pow10[-exp])
	if mant/one > uint64(math.MaxInt64/scale-1) {
		return 0, b, false
	}
	n = int64(mant/one)*scale + int64(math.RoundToEven(float64(mant%one)/pow10[-exp]*float64(scale)))
	if neg {
		n = -n
	}
	return n, b[i:], true
}

// Value reads a cell that holds a number, with groups of three digits or a unit
// behind it or neither; ok is false for anything else.
func Value(cell []byte, dec byte) (v float64, ok bool) {
	v, rest, ok := Number(cell, dec)
	if ok && (len(rest) == 0 || len(rest) <= longestUnit && bytes.IndexByte([]byte(".,':"), rest[0]) < 0) {
		return v, true
	}
	v, rest, ok = grouped(cell, dec)
	return v, ok && len(rest) <= longestUnit/2
}

// Decimals is the number of decimals that the cells are written with; a few
// damaged cells do not count.
func Decimals(cells [][]byte, dec byte) int {
	const rare = 50                // fewer than one cell in so many is damage
	var count [exactDigits + 1]int // of cells with so many decimals
	for _, c := range cells {
		n := 0
		if i := bytes.LastIndexByte(c, dec); i >= 0 {
			n = digits(c[i+1:])
		}
		count[min(n, exactDigits)]++
	}
	seen := 0
	for n := exactDigits; n > 0; n-- {
		if seen += count[n]; seen*rare > len(cells) {
			return n
		}
	}
	return 0
}
