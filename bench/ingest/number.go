package ingest

import (
	"bytes"
	"math"
	"strconv"
	"unicode/utf8"
)

// Powers of ten that a float64 holds exactly.
var exactTen = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// scanFloat reads the longest plain decimal number at the start of b: sign,
// digits with at most one mark, and an exponent after e, E, d or D. It returns
// the float64 nearest to it and how many bytes it took, 0 where there is no
// number. The value is infinite where the number is beyond the largest float64.
//
// A mantissa up to 2⁵³ and a power of ten up to 10²² are both exact, so one
// multiplication or division rounds once and is right (W. D. Clinger, "How to
// read floating point numbers accurately", PLDI 1990, section 4). Everything else goes to
// strconv.
func scanFloat(b []byte, mark byte) (v float64, n int) {
	i := 0
	neg := false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	var mantissa uint64
	start := i
	for i < len(b) && b[i]-'0' <= 9 {
		mantissa = mantissa*10 + uint64(b[i]-'0')
		i++
	}
	digits := i - start
	exponent := 0
	if i < len(b) && b[i] == mark {
		frac := i + 1
		j := frac
		for j < len(b) && b[j]-'0' <= 9 {
			mantissa = mantissa*10 + uint64(b[j]-'0')
			j++
		}
		// “380.” is a number; “380,” is a number and a comma.
		if j > frac || mark == '.' {
			digits += j - frac
			exponent = frac - j
			i = j
		}
	}
	if digits == 0 {
		return 0, 0
	}
	if i < len(b) && (b[i]|0x20 == 'e' || b[i]|0x20 == 'd') {
		if e, m := scanExponent(b[i+1:]); m > 0 {
			exponent += e
			i += 1 + m
		}
	}
	// Nineteen digits fit a uint64; with more the mantissa may have wrapped.
	if digits <= 19 && mantissa <= 1<<53 && -22 <= exponent && exponent <= 22 {
		v = float64(mantissa)
		if exponent < 0 {
			v /= exactTen[-exponent]
		} else {
			v *= exactTen[exponent]
		}
		if neg {
			v = -v
		}
		return v, i
	}
	return slowFloat(b[:i], mark), i
}

// scanExponent reads a signed integer; values beyond ±99999 stay there, where
// every float64 is 0 or infinite.
func scanExponent(b []byte) (e, n int) {
	i := 0
	neg := false
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		neg = b[i] == '-'
		i++
	}
	start := i
	for i < len(b) && b[i]-'0' <= 9 {
		if e < 1e5 {
			e = e*10 + int(b[i]-'0')
		}
		i++
	}
	if i == start {
		return 0, 0
	}
	e = min(e, 99999)
	if neg {
		e = -e
	}
	return e, i
}

// slowFloat hands a number that scanFloat has delimited to strconv.
func slowFloat(b []byte, mark byte) float64 {
	var buf [32]byte
	plain := append(buf[:0], b...)
	for i, c := range plain {
		switch c {
		case mark:
			plain[i] = '.'
		case 'd', 'D':
			plain[i] = 'e'
		}
	}
	v, _ := strconv.ParseFloat(string(plain), 64) // out of range gives ±Inf, and the syntax is known to be right
	return v
}

// A cell's content.
type cellKind uint8

const (
	cellNumber  cellKind = iota
	cellGrouped          // a number with thousands marks
	cellMissing          // blank, or a marker for “no value”
	cellOther
)

// parseCell reads a whole cell, already trimmed of spaces and quotes.
func parseCell(b []byte, mark byte) (float64, cellKind) {
	if v, n := scanFloat(b, mark); n > 0 && n == len(b) {
		if math.IsInf(v, 0) || isOverRange(v) {
			return 0, cellMissing
		}
		return v, cellNumber
	}
	if isMissing(b) {
		return 0, cellMissing
	}
	if bytes.HasPrefix(b, []byte("−")) { // U+2212
		plain := append([]byte{'-'}, b[len("−"):]...)
		if plain = plain[:min(len(plain), 64)]; len(plain) > 1 && plain[1]-'0' <= 9 {
			return parseCell(plain, mark)
		}
		return 0, cellOther
	}
	if plain, ok := ungroup(b, mark); ok {
		if v, n := scanFloat(plain, mark); n == len(plain) && !math.IsInf(v, 0) {
			return v, cellGrouped
		}
	}
	return 0, cellOther
}

// isOverRange reports the values by which SCPI instruments say “infinity” and
// “not a number” (SCPI-1999 volume 1, section 7.2.1).
func isOverRange(v float64) bool { return math.Abs(v) == 9.9e37 || v == 9.91e37 }

// missingMarkers are the ways of writing “no value” besides a blank, in lower case.
var missingMarkers = map[string]bool{
	"nan": true, "+nan": true, "-nan": true, "na": true, "n/a": true, "n.a.": true, "null": true, "none": true,
	"ol": true, "o.l": true, "o.l.": true, "+ol": true, "-ol": true, "over": true, "ovf": true, "overflow": true, "ovld": true,
	"inf": true, "+inf": true, "-inf": true, "infinity": true, "+infinity": true, "-infinity": true, "∞": true, "+∞": true, "-∞": true,
	"1.#inf": true, "-1.#inf": true, "1.#qnan": true, "-1.#ind": true, "1.#ind": true,
	"#div/0!": true, "#n/a": true, "#num!": true, "#value!": true, "#ref!": true, "#null!": true, "#nv": true, "#wert!": true, "#zahl!": true,
	"*": true, "?": true, ".": true,
}

func isMissing(b []byte) bool {
	if len(bytes.Trim(b, "-–—")) == 0 { // a blank, or nothing but dashes
		return true
	}
	var low [16]byte
	if len(b) > len(low) {
		return false
	}
	for i, c := range b {
		if 'A' <= c && c <= 'Z' {
			c |= 0x20
		}
		low[i] = c
	}
	return missingMarkers[string(low[:len(b)])]
}

// ungroup removes thousands marks: a space of any kind, an apostrophe, or the
// other one of point and comma, each before exactly three digits.
func ungroup(b []byte, mark byte) ([]byte, bool) {
	other := byte('.')
	if mark == '.' {
		other = ','
	}
	if len(b) > 64 {
		return nil, false
	}
	plain := make([]byte, 0, len(b))
	var group rune
	inGroup := 0 // digits since the start or the last thousands mark
	i := 0
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		plain = append(plain, b[0])
		i++
	}
	for i < len(b) {
		r, size := utf8.DecodeRune(b[i:])
		switch {
		case '0' <= r && r <= '9':
			plain = append(plain, byte(r))
			inGroup++
		case r == rune(other), r == ' ', r == '\u00a0', r == '\u202f', r == '\u2009', r == '\'', r == '’':
			if group == 0 && (inGroup == 0 || inGroup > 3) || group != 0 && (r != group || inGroup != 3) {
				return nil, false
			}
			group, inGroup = r, 0
		default: // the decimal mark or an exponent: the rest is plain
			if group == 0 || inGroup != 3 {
				return nil, false
			}
			return append(plain, b[i:]...), true
		}
		i += size
	}
	return plain, group != 0 && inGroup == 3
}
