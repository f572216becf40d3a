package figure

import (
	"math"
	"strings"
	"testing"
)

// polarLamp is an invented lamp: a beam to a power of the cosine on each plane,
// and a share of stray light.
func polarLamp(candela, n, across, stray float64) Polar {
	var d Polar
	for i, power := range []float64{n, across} {
		c := PolarCurve{Name: []string{"C 180° – C 0°", "C 270° – C 90°"}[i]}
		for g := 0.0; g <= 180; g += 5 {
			v := candela * (math.Pow(math.Max(0, math.Cos(g*math.Pi/180)), power) + stray)
			c.Gamma, c.Right, c.Left = append(c.Gamma, g), append(c.Right, v), append(c.Left, v*(1-0.2*math.Sin(g*math.Pi/180)))
		}
		d.Curves = append(d.Curves, c)
	}
	return d
}

func spots(d Polar, beam float64) Polar {
	d.Beam = beam
	for _, m := range []float64{1, 2, 3} {
		d.Spots = append(d.Spots, PolarSpot{m, d.Curves[0].Right[0] / (m * m), 2 * m * math.Tan(beam*math.Pi/360)})
	}
	return d
}

func polarPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	flood := spots(polarLamp(1240, 2.4, 6, 0), 83)
	bulb := polarLamp(70, 0.3, 0.3, 0.4)
	bulb.Curves = bulb.Curves[:1]
	bulb.Spots = []PolarSpot{{1, 98, 0}, {2, 24.5, 0}, {3, 10.9, 0}}
	search := spots(polarLamp(2.4e6, 900, 900, 0), 4.5)
	search.Curves = search.Curves[:1]
	return map[string]*Picture{
		"polar":        made(flood.Picture()),
		"polar-bulb":   made(bulb.Picture()),
		"polar-search": made(search.Picture()),
		"polar-wide":   made(spots(polarLamp(300, 1, 0.4, 0), 152).Picture()),
		"polar-alone":  made(polarLamp(300, 1, 1.5, 0).Picture()),
	}
}

func TestThePolarPictureSaysWhereTheLightGoes(t *testing.T) {
	p := polarPictures(t)["polar"]
	if p.Title != "A beam of 83°, 1240 cd on its axis" || !strings.Contains(p.Alt, "310 lx at 2 m") || len(p.Rows) != 37 || len(p.Rows[0]) != len(p.Columns) {
		t.Errorf("%q, %q, %d rows", p.Title, p.Alt, len(p.Rows))
	}
}

func TestAPolarPictureReachesAsFarAsItsLight(t *testing.T) {
	if d := polarLamp(100, 2, 2, 0.01); d.lastAngle() != 90 {
		t.Error("1 % of stray light takes a whole circle")
	}
	if d := polarLamp(100, 2, 2, 0.1); d.lastAngle() != 180 {
		t.Error("light above the horizontal is cut off")
	}
}

func TestNoPolarPictureOfWhatIsNone(t *testing.T) {
	for what, spoil := range map[string]func(*Polar){
		"no curve":         func(d *Polar) { d.Curves = nil },
		"no light":         func(d *Polar) { *d = polarLamp(0, 1, 1, 0) },
		"half the angles":  func(d *Polar) { d.Curves[0].Gamma[36] = 170 },
		"a side too short": func(d *Polar) { d.Curves[0].Left = d.Curves[0].Left[:3] },
		"not a number":     func(d *Polar) { d.Curves[0].Left[3] = math.NaN() },
		"a beam all round": func(d *Polar) { d.Beam = 360 },
		"a spot at 0 m":    func(d *Polar) { d.Spots = []PolarSpot{{0, 1, 1}} },
	} {
		d := polarLamp(100, 1, 1, 0)
		spoil(&d)
		if _, err := d.Picture(); err == nil || !strings.HasPrefix(err.Error(), "figure: polar: ") {
			t.Errorf("%s: %v", what, err)
		}
	}
}
