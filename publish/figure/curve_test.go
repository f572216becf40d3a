package figure

import (
	"math"
	"sort"
	"strconv"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

func vgLength(v float64) vg.Length { return vg.Length(v) }

// anyCurve draws a curve of 2 to 60 samples between 380 and 780 nm.
func anyCurve(t *rapid.T) (nm, values []float64) {
	n := rapid.IntRange(2, 60).Draw(t, "samples")
	seen := map[float64]bool{}
	for len(nm) < n {
		l := rapid.Float64Range(380, 780).Draw(t, "nm")
		if !seen[l] {
			seen[l] = true
			nm = append(nm, l)
		}
	}
	sort.Float64s(nm)
	for range nm {
		values = append(values, rapid.Float64Range(-1, 100).Draw(t, "value"))
	}
	return nm, values
}

func TestColumnMeansKeepTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nm, values := anyCurve(t)
		area, all := 0.0, 0.0
		for i := 1; i < len(nm); i++ {
			area += (values[i] + values[i-1]) / 2 * (nm[i] - nm[i-1])
		}
		const columns = 97
		first, span := nm[0], nm[len(nm)-1]-nm[0]
		for i := range columns {
			a, b := first+span*float64(i)/columns, first+span*float64(i+1)/columns
			if mean := meanOver(nm, values, a, b); !math.IsNaN(mean) {
				all += mean * (min(b, nm[len(nm)-1]) - a)
			}
		}
		if math.Abs(area-all) > 1e-9*(1+100*span) {
			t.Fatalf("columns add up to %g, the curve to %g", all, area)
		}
	})
}

func TestMeanOfAStraightLineIsItsMiddle(t *testing.T) {
	nm, values := []float64{400, 600}, []float64{0, 2}
	for _, c := range []struct{ a, b, want float64 }{
		{400, 600, 1}, {450, 470, 0.6}, {300, 500, 0.5}, {599, 700, 1.995},
	} {
		if got := meanOver(nm, values, c.a, c.b); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("mean from %g to %g nm is %g, want %g", c.a, c.b, got, c.want)
		}
	}
	if got := meanOver(nm, values, 700, 800); !math.IsNaN(got) {
		t.Errorf("mean where nothing is covered is %g", got)
	}
}

func TestTraceKeepsEveryPeakAndBothEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nm, values := anyCurve(t)
		f := frame{rectangle(0, 0, vg.Length(rapid.IntRange(1, 50).Draw(t, "px")), 100), 380, 780, 0, 100}
		pts := trace(f, nm, values)
		lo, hi := math.Inf(1), math.Inf(-1)
		for i, p := range pts {
			lo, hi = min(lo, float64(p.Y)), max(hi, float64(p.Y))
			if i > 0 && p.X < pts[i-1].X {
				t.Fatal("the trace runs back")
			}
		}
		wantLo, wantHi, _, _ := extreme(nm, values, 380, 780)
		if lo != float64(f.y(wantLo)) || hi != float64(f.y(wantHi)) {
			t.Fatalf("trace spans %g to %g, the curve %g to %g", lo, hi, wantLo, wantHi)
		}
		n := len(nm) - 1
		if pts[0] != f.at(nm[0], values[0]) || pts[len(pts)-1] != f.at(nm[n], values[n]) {
			t.Fatal("an end is lost")
		}
	})
}

func TestTicksAreRoundInsideAndNotTooMany(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e4, 1e4).Draw(t, "lo")
		hi := lo + rapid.Float64Range(1e-3, 1e4).Draw(t, "span")
		n := rapid.IntRange(2, 12).Draw(t, "n")
		list := ticks(lo, hi, n)
		if len(list) > n {
			t.Fatalf("%d ticks, at most %d asked for", len(list), n)
		}
		slack := 1e-6 * (hi - lo)
		for _, k := range list {
			if k.value < lo-slack || k.value > hi+slack {
				t.Fatalf("%g is outside %g to %g", k.value, lo, hi)
			}
		}
	})
}

func TestNumbersAreWrittenWithTrueSigns(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{fixed(-0.04, 1), "0.0"}, {fixed(-31.4, 0), "−31"}, {fixed(2.345, 2), "2.35"},
		{signed(0.0018, 4), "+0.0018"}, {signed(-0.0018, 4), "−0.0018"}, {signed(0, 0), "0"},
		{significant(0, 3), "0"}, {significant(12.345, 3), "12.3"}, {significant(-0.012345, 3), "−0.0123"},
		{significant(1.2345e-7, 3), "1.23×10⁻⁷"}, {significant(123456, 3), "123456"},
		{percent(0.0151), "1.5 %"}, {percent(0.29), "29 %"}, {percent(0), "0 %"}, {percent(1e-5), "<0.1 %"}, {percent(0.9964), "99.6 %"}, {percent(0.99999), ">99.9 %"}, {percent(1), "100 %"},
		{decimal(-0.001), "0"}, {decimal(10), "10"}, {decimal(0.5), "0.5"}, {decimal(100.10), "100.1"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestCoordinatesAreWrittenToAHundredth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-2000, 2000).Draw(t, "v")
		back, err := strconv.ParseFloat(decimal(v), 64)
		if err != nil || math.Abs(back-v) > 0.005+1e-9 {
			t.Fatalf("%g is written %s", v, decimal(v))
		}
	})
}

func TestBrightnessOnTheScreenIsProportionalToPower(t *testing.T) {
	full := rgb(0xff8040)
	for _, share := range []float64{1, 0.5, 0.25, 0.1} {
		c := dim(full, share)
		for _, k := range [][2]uint8{{c.R, full.R}, {c.G, full.G}, {c.B, full.B}} {
			want := decode(k[1]) * share
			step := decode(k[0]+1-k[0]/255) - decode(k[0]-1) // two codes wide
			if k[0] > stripGround.B && math.Abs(decode(k[0])-want) > math.Abs(step) {
				t.Errorf("at %g of the power a primary has %.4f of its light, want %.4f", share, decode(k[0]), want)
			}
		}
	}
	if c := dim(full, 1); c != full {
		t.Errorf("at full power %v, want %v", c, full)
	}
}

func TestHuesHaveOneLightness(t *testing.T) {
	// CIE 15:2018 clause 8.2.1: L* = 60 is Y/Yn = ((60+16)/116)³.
	want := math.Pow(76.0/116, 3)
	for i := range 16 {
		c := hueColour(binHue(i))
		if y := 0.2126*decode(c.R) + 0.7152*decode(c.G) + 0.0722*decode(c.B); math.Abs(y-want) > 0.004 {
			t.Errorf("bin %d: relative luminance %.3f, want %.3f", i+1, y, want)
		}
	}
}
