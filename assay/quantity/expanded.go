package quantity

import (
	"math"
	"strconv"
	"strings"
)

// FormatExpanded writes a value and its expanded uncertainty for reading: two
// significant digits of the uncertainty, and the value to the same place
// (JCGM 100:2008 7.2.6). Without an uncertainty above zero plus is empty and the
// register's own rule rounds the value.
func (d *Definition) FormatExpanded(v, expanded float64) (value, plus string) {
	if !(expanded > 0) || math.IsInf(expanded, 0) {
		return d.Format(v), ""
	}
	if d.Percent {
		v, expanded = 100*v, 100*expanded
	}
	return Rounded(v, expanded)
}

// Rounded writes a value and its uncertainty, above zero, with two significant
// digits of the uncertainty and the value to the same place.
func Rounded(v, u float64) (value, plus string) {
	place := lastPlace(u)
	return fixed(v, place), fixed(u, place)
}

// FormatBeside writes a value to the place that an expanded uncertainty gives.
func (d *Definition) FormatBeside(v, expanded float64) string {
	value, _ := d.FormatExpanded(v, expanded)
	return value
}

// lastPlace returns the decimal place of the second significant digit: 2 for
// hundredths, −1 for tens.
func lastPlace(u float64) int {
	place := 1 - int(math.Floor(math.Log10(u)))
	if math.Round(u*math.Pow10(place)) >= 100 { // 0.0996 is 0.10 in two digits
		place--
	}
	return min(place, 15)
}

// fixed writes a value to a decimal place with a true minus sign.
func fixed(v float64, place int) string {
	if place < 0 {
		unit := math.Pow10(-place)
		v, place = math.Round(v/unit)*unit, 0
	}
	s := strconv.FormatFloat(v, 'f', place, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-") // no minus before a zero
	}
	return strings.Replace(s, "-", "−", 1)
}
