package figure

import (
	"io"
	"math"
	"strings"
	"testing"

	"lampassay/light/colorimetry"
)

// runUpPictures are of invented readings.
func runUpPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	var seconds, light, power, cct, duv []float64
	for s := 0.0; s <= 3000; s += 10 {
		warm := 1 / (1 + math.Exp(-(s-420)/70))
		seconds = append(seconds, s)
		light = append(light, 357*(0.012+0.988*warm)*(1+0.0012*math.Sin(s)))
		power = append(power, 46.3*(1-0.24*math.Exp(-s/160)))
		c, d := 1800-300*(1-warm), 0.003-0.02*(1-warm)
		if s < 120 || s > 700 && s < 730 {
			c, d = math.NaN(), math.NaN()
		}
		cct, duv = append(cct, c), append(duv, d)
	}
	none := math.NaN()
	marks := []RunUpMark{{450, 214.2, "60 % after 7.5 min"}, {516, 285.6, "80 % after 8.6 min"}, {572, 321.3, "90 % after 9.5 min"}, {625, 339.2, ""}}
	run := RunUp{
		Panels: []RunUpPanel{
			{Name: "Light", Unit: "lx", Seconds: seconds, Values: light, Level: 357, Reached: marks, FromZero: true},
			{Name: "Power", Unit: "W", Seconds: seconds, Values: power, Level: 46.3},
			{Name: "CCT", Unit: "K", Seconds: seconds, Values: cct, Level: none},
			{Name: "Duv", Seconds: seconds, Values: duv, Level: none},
		},
		Flags:  []EmissionEvent{{0, "switched on"}, {1890, "stable by the rule of EN 13032-4 from here on, light and power together"}},
		Stable: 1890, StableTo: 3000,
		Title: "The lamp gives 80 % of its light after 8.6 min and is stable after 31.5 min",
		Note:  "Rule: en-13032-4, its numbers from memory.",
	}
	var nm []float64
	for x := 400.0; x <= 850; x += 0.5 {
		nm = append(nm, x)
	}
	var spectra [][]float64
	var times []float64
	for s := 0.0; s <= 900; s += 20 {
		warm := 1 / (1 + math.Exp(-(s-420)/70))
		values := make([]float64, len(nm))
		for i, x := range nm {
			line := func(at, height float64) float64 { z := (x - at) / 0.8; return height * math.Exp(-z*z) }
			values[i] = line(589.3, 10*warm+0.001) + line(819, 2*warm) + (1-0.97*warm)*(line(640.2, 0.2)+line(703.2, 0.15)+line(585.2, 0.1)+line(724.5, 0.08)) + 2e-4*math.Sin(float64(i*i))
		}
		spectra, times = append(spectra, values), append(times, s)
	}
	fall := Waterfall{Wavelengths: nm, Seconds: times, Values: spectra, Flags: []EmissionEvent{{0, "switched on"}, {420, "half the light"}, {430, "neon fades"}}, Title: "Neon's red gives way to sodium's yellow"}
	plain := Waterfall{Wavelengths: []float64{400, 500, 600, 700}, Seconds: []float64{0, 5}, Values: [][]float64{{0, -1, 0, 0}, {0, 0, 0, 0}}, From: 380, To: 780}
	return map[string]*Picture{
		"run-up":          made(run.Picture()),
		"run-up-short":    made(RunUp{Panels: []RunUpPanel{{Name: "Light", Seconds: []float64{0, 1, 2, 3}, Values: []float64{5e6, none, 7e6, 6e6}, Level: none}}}.Picture()),
		"run-up-flat":     made(RunUp{Panels: []RunUpPanel{{Name: "Power", Unit: "W", Seconds: []float64{-20, 60}, Values: []float64{0, 0}, Level: 0}}, Flags: []EmissionEvent{{0, "on"}, {1, "off"}, {2, "on again"}}}.Picture()),
		"waterfall":       made(fall.Picture()),
		"waterfall-plain": made(plain.Picture()),
	}
}

func TestRunUpsThatCannotBeDrawnAreRefused(t *testing.T) {
	good := RunUpPanel{Name: "Light", Seconds: []float64{0, 1}, Values: []float64{1, 2}, Level: math.NaN()}
	for says, r := range map[string]RunUp{
		"nothing to draw":       {},
		"2 times for 1 values":  {Panels: []RunUpPanel{{Name: "x", Seconds: []float64{0, 1}, Values: []float64{1}}}},
		"no time after the one": {Panels: []RunUpPanel{{Name: "x", Seconds: []float64{1, 1}, Values: []float64{1, 1}}}},
		"x has no value":        {Panels: []RunUpPanel{{Name: "x", Seconds: []float64{0, 1}, Values: []float64{math.NaN(), math.NaN()}}}},
		"cover no time":         {Panels: []RunUpPanel{{Name: "x", Seconds: []float64{0}, Values: []float64{1}}}},
		"cannot be stable":      {Panels: []RunUpPanel{good}, Stable: 2, StableTo: 1},
		"has no time":           {Panels: []RunUpPanel{good}, Flags: []EmissionEvent{{math.NaN(), "x"}}},
	} {
		if _, err := r.Picture(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
	if _, err := (Waterfall{Wavelengths: []float64{1, 2}, Seconds: []float64{0, 0}, Values: [][]float64{{1, 2}, {1, 2}}}).Picture(); err == nil {
		t.Error("a waterfall needs times that increase")
	}
}

// Even steps: neighbours of the scale are equally far apart in CIELAB, but for the
// eight bits of a screen, and lightness always rises.
func TestTheScaleOfAWaterfallIsEven(t *testing.T) {
	labOf := func(i int) colorimetry.Lab {
		c := powerMap()[i]
		linear := func(v uint8) float64 { // IEC 61966-2-1
			x := float64(v) / 255
			if x <= 0.04045 {
				return x / 12.92
			}
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		r, g, b := linear(c.R), linear(c.G), linear(c.B)
		white := colorimetry.D65()
		k := white.Y
		return colorimetry.LabFromXYZ(colorimetry.XYZ{
			X: k * (0.4124*r + 0.3576*g + 0.1805*b), Y: k * (0.2126*r + 0.7152*g + 0.0722*b), Z: k * (0.0193*r + 0.1192*g + 0.9505*b),
		}, white)
	}
	whole := 0.0
	for i := 1; i < mapSteps; i++ {
		whole += colorimetry.DeltaE76(labOf(i-1), labOf(i))
	}
	mean := whole / (mapSteps - 1)
	for i := 1; i < mapSteps; i++ {
		if d := colorimetry.DeltaE76(labOf(i-1), labOf(i)); math.Abs(d-mean) > 0.25*mean {
			t.Errorf("step %d is %.2f, the mean %.2f: the screen cannot show the path there", i, d, mean)
		}
		if labOf(i).L <= labOf(i-1).L {
			t.Errorf("at step %d lightness does not rise", i)
		}
	}
}

// A spectrum a second for five hours: what makes the picture long is to draw it, not
// to look at it.
func BenchmarkWaterfall(b *testing.B) {
	w := Waterfall{}
	for i := range 2048 {
		w.Wavelengths = append(w.Wavelengths, 350+0.3*float64(i))
	}
	for s := range 18000 {
		values := make([]float64, len(w.Wavelengths))
		for i := range values {
			values[i] = 1 + math.Sin(float64(s+i)/500)
		}
		w.Seconds, w.Values = append(w.Seconds, float64(s)), append(w.Values, values)
	}
	for b.Loop() {
		p, err := w.Picture()
		if err != nil {
			b.Fatal(err)
		}
		if err := p.SVG(io.Discard, Page); err != nil {
			b.Fatal(err)
		}
	}
}
