package cost

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampassay/assay/quantity"
)

// Reading writes the value and how sure it is: "± U", U being half the 95 %
// interval of the law, or the interval itself where it is that of draws. Two
// digits of it, and the value to the same place; four significant digits and
// nothing beside them where there is no uncertainty.
func (f *Figure) Reading() (value, beside string) {
	expanded := (f.High - f.Low) / 2
	if !(expanded > 0) {
		return write(f.Value, decimals(f.Value, 4)), ""
	}
	value, plus := quantity.Rounded(f.Value, expanded)
	if f.Straight {
		return value, "± " + plus
	}
	low, _ := quantity.Rounded(f.Low, expanded)
	high, _ := quantity.Rounded(f.High, expanded)
	return value, "(" + low + " to " + high + ")"
}

// Caution says in how many of the draws the figure has no value, "" where it
// always has one.
func (f *Figure) Caution() string {
	if f.Defined == 1 {
		return ""
	}
	return fmt.Sprintf("in %s %% of the draws it never comes", write(100*(1-f.Defined), 0))
}

// Sentences say in words what a replacement comes to.
func (p *Replacement) Sentences() []string {
	var s []string
	lamps, more := "lamps give", 100*(p.Light-1)
	if p.Whole == 1 {
		lamps = "lamp gives"
	}
	if more < 0.5 {
		s = append(s, fmt.Sprintf("%d whole %s the same light.", p.Whole, lamps))
	} else {
		s = append(s, fmt.Sprintf("%d whole %s %.0f %% more light.", p.Whole, lamps, more))
	}
	switch p.Pays {
	case Yes:
		s = append(s, "It pays for itself within its life.")
	case No:
		s = append(s, "It does not pay for itself within its life.")
	case CannotTell:
		s = append(s, "Whether it pays for itself within its life cannot be told from these figures.")
	}
	return s
}

// decimals returns how many show a number's first digits; negative for whole
// tens, hundreds and so on.
func decimals(v float64, digits int) int {
	if v == 0 {
		return 0
	}
	d := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	// 0.0996 to two digits is 0.10, and not 0.100.
	if step := math.Pow(10, float64(d)); math.Round(math.Abs(v)*step) >= math.Pow(10, float64(digits)) {
		d--
	}
	return d
}

func write(v float64, decimals int) string {
	if decimals < 0 {
		unit := math.Pow(10, float64(-decimals))
		v, decimals = math.Round(v/unit)*unit, 0
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}
