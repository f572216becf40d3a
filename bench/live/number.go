package live

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"lampassay/bench/notebook"
)

// Flags of a value without a number.
const (
	overRange  = "over range"
	underRange = "under range"
	negative   = "over range, negative"
	notANumber = "not a number"
	noReading  = "no reading"
)

// words are what meters show in place of a number, in capitals.
var words = map[string]string{
	"INF": overRange, "+INF": overRange, "INFINITY": overRange, "+INFINITY": overRange,
	"OL": overRange, "0L": overRange, "O.L": overRange, "OVER": overRange, "OVLD": overRange, "OVERLOAD": overRange, "OVERRANGE": overRange, "OFL": overRange,
	"-INF": negative, "-INFINITY": negative, "-OL": negative,
	"UL": underRange, "UNDER": underRange, "UFL": underRange,
	"NAN": notANumber, "+NAN": notANumber, "-NAN": notANumber,
}

// numeral is a number as IEEE 488.2 sends it: NR1, NR2 or NR3.
var numeral = regexp.MustCompile(`^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$`)

// What SCPI-99 (volume 1, 7.2.1.4 and 7.2.1.5) sends for infinity and for what is
// no number.
const (
	scpiInfinity = 9.9e37
	scpiNaN      = 9.91e37
)

// valueOf reads what an instrument gave for one value. Markers become flags;
// what is not understood does too.
func valueOf(key, unit, text string, decimalComma bool) notebook.Value {
	v := notebook.Value{Key: key, Unit: unit}
	text = strings.TrimSpace(text)
	if decimalComma {
		text = strings.Replace(text, ",", ".", 1)
	}
	upper := strings.ToUpper(text)
	switch {
	case strings.Trim(text, "-–— ") == "":
		v.Flag = noReading
	case words[upper] != "":
		v.Flag = words[upper]
	case !numeral.MatchString(text):
		v.Flag = fmt.Sprintf("not a number: %s", short(text))
	default:
		// The form is checked; what overflows comes as an infinity.
		x, _ := strconv.ParseFloat(text, 64)
		v.V, v.Flag = number(x)
	}
	return v
}

// number keeps a finite number that is no marker.
func number(x float64) (*float64, string) {
	switch {
	case math.IsNaN(x), math.Abs(x-scpiNaN) < 1e-6*scpiNaN:
		return nil, notANumber
	case x >= scpiInfinity:
		return nil, overRange
	case x <= -scpiInfinity:
		return nil, negative
	}
	return &x, ""
}

// short quotes a piece of text that came from an instrument.
func short(text string) string {
	if r := []rune(text); len(r) > 40 {
		text = string(r[:40]) + "…"
	}
	return strconv.Quote(text)
}
