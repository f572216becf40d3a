package photometry

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestMesopicLuminanceTable(t *testing.T) {
	// CIE 191:2010 system recomputed independently from V′ = 683/1700 and the
	// same a and b, four decimals; the report's own table was not at hand.
	sp := []float64{.25, .45, .65, .85, 1.05, 1.25, 1.45, 1.65, 1.85, 2.05, 2.25, 2.45, 2.65}
	for _, row := range []struct {
		photopic float64
		want     []float64
	}{
		{.01, []float64{.0025, .0045, .0069, .0088, .0104, .0118, .0132, .0145, .0157, .0169, .0180, .0191, .0201}},
		{.03, []float64{.0145, .0198, .0239, .0275, .0308, .0338, .0367, .0395, .0421, .0446, .0471, .0495, .0518}},
		{.1, []float64{.0705, .0793, .0873, .0947, .1017, .1083, .1147, .1208, .1267, .1324, .1379, .1433, .1485}},
		{.3, []float64{.2467, .2620, .2764, .2901, .3032, .3158, .3280, .3398, .3512, .3623, .3731, .3836, .3939}},
		{.5, []float64{.4322, .4514, .4697, .4873, .5042, .5205, .5362, .5515, .5664, .5808, .5949, .6087, .6221}},
		{1, []float64{.9130, .9373, .9608, .9835, 1.0054, 1.0267, 1.0473, 1.0674, 1.0870, 1.1060, 1.1246, 1.1428, 1.1605}},
		{1.5, []float64{1.4067, 1.4327, 1.4578, 1.4822, 1.5058, 1.5288, 1.5512, 1.5729, 1.5941, 1.6148, 1.6350, 1.6548, 1.6741}},
		{2, []float64{1.9083, 1.9337, 1.9584, 1.9824, 2.0058, 2.0285, 2.0506, 2.0721, 2.0932, 2.1137, 2.1337, 2.1533, 2.1725}},
		{3, []float64{2.9265, 2.9468, 2.9666, 2.9859, 3.0046, 3.0230, 3.0408, 3.0582, 3.0753, 3.0919, 3.1082, 3.1241, 3.1396}},
		{5, []float64{5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5}},
	} {
		for i, want := range row.want {
			got, _, err := Mesopic(row.photopic, sp[i])
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("L_mes at %g cd/m², S/P %g", row.photopic, sp[i]), got, want, 0.0002)
		}
	}
	for photopic, row := range map[float64][]float64{
		.1: {.3830, .4000, .4139, .4258, .4361, .4452, .4534, .4609, .4678, .4742, .4801, .4857, .4909},
		1:  {.7538, .7576, .7612, .7646, .7678, .7708, .7737, .7764, .7791, .7816, .7840, .7863, .7886},
	} {
		for i, want := range row {
			_, m, err := Mesopic(photopic, sp[i])
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("m at %g cd/m², S/P %g", photopic, sp[i]), m, want, 0.0002)
		}
	}
}

func TestMesopicLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		photopic := math.Exp(rapid.Float64Range(-9, 4).Draw(t, "log luminance"))
		sp := rapid.Float64Range(0.2, 6).Draw(t, "sp")
		l, m, err := Mesopic(photopic, sp)
		if err != nil {
			t.Fatal(err)
		}
		if same, _, err := Mesopic(photopic, 1); err != nil || same != photopic {
			t.Fatalf("S/P 1 makes %g of %g", same, photopic)
		}
		// Between the photopic and the scotopic luminance.
		if lo, hi := photopic*min(1, sp), photopic*max(1, sp); l < lo*(1-1e-12) || l > hi*(1+1e-12) || m < 0 || m > 1 {
			t.Fatalf("L_mes %g, m %g for %g cd/m² at S/P %g", l, m, photopic, sp)
		}
		if more, _, err := Mesopic(photopic, sp*1.01); err != nil || more < l {
			t.Fatalf("a higher S/P lowers %g to %g", l, more)
		}
		if photopic >= 5 && (l != photopic || m != 1) {
			t.Fatalf("above 5 cd/m² %g became %g", photopic, l)
		}
		// The pair satisfies both equations of the report.
		rod := (1 - m) * 683 / 1699
		if want := (m*photopic + rod*sp*photopic) / (m + rod); math.Abs(want-l) > 1e-9*l {
			t.Fatalf("L_mes %g, but m %g gives %g", l, m, want)
		}
	})
}

func TestMesopicRefusesWhatHasNoAnswer(t *testing.T) {
	for _, c := range [][2]float64{{0, 1}, {-1, 1}, {math.NaN(), 1}, {math.Inf(1), 1}, {1, -0.1}, {1, math.NaN()}, {1, math.Inf(1)}} {
		if l, _, err := Mesopic(c[0], c[1]); err == nil {
			t.Errorf("%g cd/m² at S/P %g is %g", c[0], c[1], l)
		}
	}
	// Deep blue at nearly 5 cd/m² swings between the ends.
	if _, _, err := Mesopic(4.9, 60); !errors.Is(err, ErrMesopicDiverges) {
		t.Errorf("4.9 cd/m² at S/P 60: %v", err)
	}
}
