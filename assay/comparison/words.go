package comparison

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampassay/assay/quantity"
)

// ScaleOf says by what lamps are compared in a quantity: light, power, efficacy
// and the other amounts by ratio; indices, colour and wavelengths by difference.
func ScaleOf(d *quantity.Definition) Scale {
	switch d.Group {
	case quantity.Light, quantity.Plant, quantity.Eye:
		return ByRatio
	}
	return ByDifference
}

// Sentence says what a pair comes to, in the words of its quantity. a and b name
// the lamps of p.A and p.B.
func (p Pair) Sentence(d *quantity.Definition, a, b string) string {
	byRatio := !math.IsNaN(p.Ratio.Value)
	if !p.Apart {
		if byRatio {
			return fmt.Sprintf("%s and %s can't be told apart in %s: the ratio is %s", a, b, d.Name, ratio(p.Ratio))
		}
		x := p.Difference
		return fmt.Sprintf("%s and %s can't be told apart in %s: the difference is %s (%s to %s)%s", a, b, d.Name,
			round(x.Value, x, 1), round(x.Low, x, 1), round(x.High, x, 1), unitBehind(d))
	}
	if !byRatio {
		x, way := p.Difference, "higher"
		if x.Value < 0 {
			x, way = Interval{-x.Value, x.U, -x.High, -x.Low}, "lower"
		}
		return fmt.Sprintf("%s's %s is %s%s %s than %s's (%s to %s)", b, d.Name, round(x.Value, x, 1), unitBehind(d), way, a, round(x.Low, x, 1), round(x.High, x, 1))
	}
	if p.Ratio.Value >= 2 {
		return fmt.Sprintf("%s %s %s times as much%s as %s (%s to %s)", b, verb(d), round(p.Ratio.Value, p.Ratio, 2), object(d), a, round(p.Ratio.Low, p.Ratio, 2), round(p.Ratio.High, p.Ratio, 2))
	}
	x, way := percent(p.Ratio), "more"
	if x.Value < 0 {
		x, way = Interval{-x.Value, x.U, -x.High, -x.Low}, "less"
	}
	return fmt.Sprintf("%s %s %s %% %s%s than %s (%s to %s)", b, verb(d), round(x.Value, x, 1), way, object(d), a, round(x.Low, x, 1), round(x.High, x, 1))
}

// percent turns a ratio into per cent more.
func percent(r Interval) Interval {
	return Interval{100 * (r.Value - 1), 100 * r.U, 100 * (r.Low - 1), 100 * (r.High - 1)}
}

func verb(d *quantity.Definition) string {
	switch d.ID {
	case quantity.LuminousFlux, quantity.LuminousEfficacy, quantity.LampEfficacy:
		return "gives"
	case quantity.Power, quantity.PowerLamp:
		return "draws"
	}
	return "has"
}

func object(d *quantity.Definition) string {
	switch d.ID {
	case quantity.LuminousFlux:
		return " light"
	case quantity.LuminousEfficacy, quantity.LampEfficacy:
		return " light for the watt"
	case quantity.Power, quantity.PowerLamp:
		return " power"
	}
	return " " + d.Name
}

func unitBehind(d *quantity.Definition) string {
	if d.Unit == "" || d.Unit == "1" {
		return ""
	}
	return " " + d.Unit
}

// ratio writes a ratio and its interval.
func ratio(r Interval) string {
	return fmt.Sprintf("%s (%s to %s)", round(r.Value, r, 2), round(r.Low, r, 2), round(r.High, r, 2))
}

// round writes a value with as many decimals as half its interval earns: so many
// figures of it, whole numbers at least.
func round(v float64, i Interval, figures int) string {
	half := (i.High - i.Low) / 2
	decimals := 3
	if half > 0 && !math.IsInf(half, 0) {
		decimals = max(0, figures-1-int(math.Floor(math.Log10(half))))
	}
	s := strconv.FormatFloat(v, 'f', min(decimals, 6), 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}
