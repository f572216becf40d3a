package standards

import (
	"math"
	"sync"

	"lampassay/light/spectrum"
)

// Observer is a set of colour-matching functions on the grid.
type Observer struct {
	Name    string
	X, Y, Z *spectrum.Weighting
}

// CIE1931 returns the 2° standard observer, 360–830 nm (ISO/CIE 11664-1).
func CIE1931() *Observer { return cie1931() }

var cie1931 = sync.OnceValue(func() *Observer {
	t := mustLoad("cie1931")
	return &Observer{"CIE 1931 2°", onGrid(t, "x_bar", linear), onGrid(t, "y_bar", linear), onGrid(t, "z_bar", linear)}
})

// CIE1964 returns the 10° standard observer, 360–830 nm (ISO/CIE 11664-1),
// interpolated from 5 nm.
func CIE1964() *Observer { return cie1964() }

var cie1964 = sync.OnceValue(func() *Observer {
	t := mustLoad("cie1964")
	return &Observer{"CIE 1964 10°", onGrid(t, "x10_bar", sprague), onGrid(t, "y10_bar", sprague), onGrid(t, "z10_bar", sprague)}
})

// V returns the spectral luminous efficiency for photopic vision V(λ), which is
// the ȳ of the 2° observer (CIE 018:2019).
func V() *spectrum.Weighting { return v() }

var v = sync.OnceValue(func() *spectrum.Weighting {
	y := CIE1931().Y
	return &spectrum.Weighting{Name: "V(λ)", First: y.First, W: y.W}
})

// VPrime returns V′(λ), scotopic vision, 380–780 nm (CIE 018:2019).
func VPrime() *spectrum.Weighting { return vPrime() }

var vPrime = sync.OnceValue(func() *spectrum.Weighting {
	w := onGrid(mustLoad("v_prime"), "v_prime", linear)
	w.Name = "V′(λ)"
	return w
})

// AlphaOpicSpectra are the five action spectra of CIE S 026, 380–780 nm.
type AlphaOpicSpectra struct {
	SCone, MCone, LCone, Rhodopic, Melanopic *spectrum.Weighting
}

// AlphaOpic returns the action spectra of CIE S 026:2018.
func AlphaOpic() *AlphaOpicSpectra { return alphaOpic() }

var alphaOpic = sync.OnceValue(func() *AlphaOpicSpectra {
	t := mustLoad("alphaopic")
	return &AlphaOpicSpectra{
		onGrid(t, "s_cone", linear), onGrid(t, "m_cone", linear), onGrid(t, "l_cone", linear),
		onGrid(t, "rhodopic", linear), onGrid(t, "melanopic", linear),
	}
})

// ActinicUV returns S(λ), 200–400 nm (IEC 62471:2006).
func ActinicUV() *spectrum.Weighting { return actinicUV() }

// BlueLight returns B(λ), 300–700 nm (IEC 62471:2006).
func BlueLight() *spectrum.Weighting { return blueLight() }

// RetinalThermal returns R(λ), 380–1400 nm (IEC 62471:2006).
func RetinalThermal() *spectrum.Weighting { return retinalThermal() }

var (
	actinicUV      = hazard("actinic_uv", "s_uv", "S(λ)")
	blueLight      = hazard("blue_light", "b_blue", "B(λ)")
	retinalThermal = hazard("retinal_thermal", "r_thermal", "R(λ)")
)

func hazard(table, column, name string) func() *spectrum.Weighting {
	return sync.OnceValue(func() *spectrum.Weighting {
		w := onGrid(mustLoad(table), column, logarithmic)
		w.Name = name
		return w
	})
}

// DaylightComponents are S0, S1 and S2 on the grid, 300–830 nm.
type DaylightComponents struct{ S0, S1, S2 *spectrum.Weighting }

// Daylight returns the components of CIE daylight (CIE 15:2018, illuminants D),
// straight between the published 5 nm entries as they are meant to be.
func Daylight() *DaylightComponents { return daylight() }

var daylight = sync.OnceValue(func() *DaylightComponents {
	t := mustLoad("daylight")
	return &DaylightComponents{onGrid(t, "S0", linear), onGrid(t, "S1", linear), onGrid(t, "S2", linear)}
})

// Samples is a set of reflecting samples on an even step: R[j][k] is the
// spectral radiance factor of sample j at First + k·Step nm.
type Samples struct {
	Names       []string
	First, Step int
	R           [][]float64
}

// TCS returns the test-colour samples 1–14 of CIE 13.3, 380–780 nm at 5 nm.
func TCS() *Samples { return tcs() }

// CES returns the 99 colour evaluation samples of CIE 224:2017, 380–780 nm at
// 5 nm.
func CES() *Samples { return ces() }

var (
	tcs = sync.OnceValue(func() *Samples { return samples(mustLoad("tcs")) })
	ces = sync.OnceValue(func() *Samples { return samples(mustLoad("ces")) })
)

func samples(t *Table) *Samples {
	return &Samples{Names: t.Columns, First: int(t.Nm[0]), Step: int(t.Nm[1] - t.Nm[0]), R: t.Data}
}

// onGrid brings a column to whole nanometres.
func onGrid(t *Table, column string, interpolate func(x, y []float64, at float64, k int) float64) *spectrum.Weighting {
	y := t.column(column)
	first, last := int(t.Nm[0]), int(t.Nm[len(t.Nm)-1])
	w := &spectrum.Weighting{Name: column, First: first, W: make([]float64, last-first+1)}
	k := 0
	for i := range w.W {
		l := float64(first + i)
		for k+1 < len(t.Nm) && t.Nm[k+1] <= l {
			k++
		}
		if t.Nm[k] == l {
			w.W[i] = y[k]
			continue
		}
		w.W[i] = interpolate(t.Nm, y, l, k)
	}
	return w
}

// linear interpolates between entries k and k+1.
func linear(x, y []float64, at float64, k int) float64 {
	f := (at - x[k]) / (x[k+1] - x[k])
	return y[k]*(1-f) + y[k+1]*f
}

// logarithmic interpolates the logarithm between entries k and k+1.
func logarithmic(x, y []float64, at float64, k int) float64 {
	f := (at - x[k]) / (x[k+1] - x[k])
	return math.Pow(y[k], 1-f) * math.Pow(y[k+1], f)
}

// sprague is the fifth-order osculating formula of Sprague as CIE 167:2005
// gives it, for an even step; two extra entries beyond each end come from the
// formula's own end rules.
func sprague(x, y []float64, at float64, k int) float64 {
	h := x[1] - x[0]
	f := (at - x[k]) / h
	p := func(i int) float64 { return spragueEntry(y, k+i) }
	m2, m1, z, p1, p2, p3 := p(-2), p(-1), p(0), p(1), p(2), p(3)
	a1 := (2*m2 - 16*m1 + 16*p1 - 2*p2) / 24
	a2 := (-m2 + 16*m1 - 30*z + 16*p1 - p2) / 24
	a3 := (-9*m2 + 39*m1 - 70*z + 66*p1 - 33*p2 + 7*p3) / 24
	a4 := (13*m2 - 64*m1 + 126*z - 124*p1 + 61*p2 - 12*p3) / 24
	a5 := (-5*m2 + 25*m1 - 50*z + 50*p1 - 25*p2 + 5*p3) / 24
	return z + f*(a1+f*(a2+f*(a3+f*(a4+f*a5))))
}

// spragueEntry is y[i], or the extension of CIE 167 beyond either end.
func spragueEntry(y []float64, i int) float64 {
	n := len(y)
	dot := func(c [6]float64, at func(int) float64) float64 {
		s := 0.0
		for j, w := range c {
			s += w * at(j)
		}
		return s / 209
	}
	begin := func(j int) float64 { return y[j] }
	end := func(j int) float64 { return y[n-1-j] }
	near := [6]float64{508, -540, 488, -367, 144, -24}
	far := [6]float64{884, -1960, 3033, -2648, 1080, -180}
	switch i {
	case -1:
		return dot(near, begin)
	case -2:
		return dot(far, begin)
	case n:
		return dot(near, end)
	case n + 1:
		return dot(far, end)
	}
	return y[i]
}
