package photometric

import (
	"bytes"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/bench/ingest"
)

// A home bench's file; the lamp is invented.
func sample() *File {
	return &File{
		Edition: LM63of2002, Lamps: 1, Absolute: true, Lumens: -1, Watts: 5.2, Goniometry: TypeC,
		Keywords: []Keyword{{"TEST", "bench-0007"}, {"TESTLAB", "home bench, not accredited"}, {"ISSUEDATE", "2025-02-01"}, {"MANUFAC", "unknown"}, {"LAMP", "reflector\nfrosted"}},
		Width:    -0.05, Length: -0.05, Vertical: []float64{0, 10, 20, 45, 90}, Horizontal: []float64{0}, Candela: [][]float64{{900, 700, 320, 20, 0}},
	}
}

func TestAFileIsWrittenAsTheStandardLaysItOut(t *testing.T) {
	f := sample()
	var b bytes.Buffer
	if err := Write(&b, f); err != nil {
		t.Fatal(err)
	}
	want := `IESNA:LM-63-2002
[TEST] bench-0007
[TESTLAB] home bench, not accredited
[ISSUEDATE] 2025-02-01
[MANUFAC] unknown
[LAMP] reflector
[MORE] frosted
TILT=NONE
1 -1 1 5 1 1 2 -0.05 -0.05 0
1 1 5.2
0 10 20 45 90
0
900 700 320 20 0
`
	if got := strings.ReplaceAll(b.String(), "\r\n", "\n"); got != want {
		t.Errorf("wrote\n%s", got)
	}
	f.Edition, f.Generation = LM63of2019, 1
	b.Reset()
	if err := Write(&b, f); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); !strings.HasPrefix(s, "IES:LM-63-2019\r\n") || !strings.Contains(s, "\r\n1 1.00000 5.2\r\n") {
		t.Errorf("wrote\n%s", s)
	}
}

func TestWhatIsWrittenIsReadBackToTheLastBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := sample()
		if rapid.Bool().Draw(t, "2019") {
			f.Edition, f.Generation = LM63of2019, rapid.SampledFrom([]float64{1, 1.00001, 1.0001, 1.1, 1.01}).Draw(t, "generation")
		}
		rising := func(name string, from, to float64) []float64 {
			list := append([]float64{from, to}, rapid.SliceOfN(rapid.Float64Range(from, to), 0, 40).Draw(t, name)...)
			slices.Sort(list)
			return slices.Compact(list)
		}
		ends := rapid.SampledFrom([][2]float64{{0, 90}, {90, 180}, {0, 180}}).Draw(t, "vertical ends")
		f.Vertical = rising("vertical", ends[0], ends[1])
		switch round := rapid.SampledFrom([]float64{0, 90, 180, 360, 345}).Draw(t, "round"); round {
		case 0:
			f.Horizontal = []float64{0}
		default:
			f.Horizontal = rising("horizontal", 0, round)
		}
		f.Candela = nil
		for range f.Horizontal {
			f.Candela = append(f.Candela, rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1, 1e6), rapid.Float64Range(0, 1e-7)), len(f.Vertical), len(f.Vertical)).Draw(t, "candela"))
		}
		f.Watts = rapid.Float64Range(0, 1000).Draw(t, "watts")
		var b bytes.Buffer
		if err := Write(&b, f); err != nil {
			t.Fatal(err)
		}
		if long := slices.ContainsFunc(strings.Split(b.String(), "\r\n"), func(s string) bool { return len(s) > 132 }); long {
			t.Fatalf("a line is too long:\n%s", b.String())
		}
		g, err := Read("x.ies", bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		if !slices.Equal(g.Vertical, f.Vertical) || !slices.Equal(g.Horizontal, f.Horizontal) || !slices.EqualFunc(g.Candela, f.Candela, slices.Equal[[]float64]) {
			t.Fatalf("%v × %v: %v", g.Vertical, g.Horizontal, g.Candela)
		}
		if !reflect.DeepEqual(g.Keywords, f.Keywords) || g.Watts != f.Watts || g.Width != f.Width || !g.Absolute || g.Generation != f.Generation || g.Edition != f.Edition {
			t.Fatalf("%+v", g)
		}
	})
}

func TestWhatTheStandardDoesNotAllowIsNotWritten(t *testing.T) {
	for want, spoil := range map[string]func(*File){
		"LM-63-1991 is not written":   func(f *File) { f.Edition = LM63of1991 },
		"a tilt is not written":       func(f *File) { f.Tilt = new(Tilt) },
		"requires [TESTLAB]":          func(f *File) { f.Keywords = slices.Delete(f.Keywords, 1, 2) },
		"plain ASCII":                 func(f *File) { f.Keywords[0].Text = "Prüfung" },
		"[MORE]":                      func(f *File) { f.Keywords[0].Name = "MORE" },
		"blanks at its ends":          func(f *File) { f.Keywords[0].Text = " x" },
		"generation type 0":           func(f *File) { f.Edition = LM63of2019 },
		"angles have to rise":         func(f *File) { f.Vertical[1] = 0 },
		"NaN among the numbers":       func(f *File) { f.Candela[0][2] = math.NaN() },
		"4 intensities":               func(f *File) { f.Candela[0] = f.Candela[0][:4] },
		"2 rows":                      func(f *File) { f.Candela = append(f.Candela, f.Candela[0]) },
		"run from 0° to 80°":          func(f *File) { f.Vertical[4] = 80 },
		"0°, 90°, 180° or above 180°": func(f *File) { f.Horizontal, f.Candela = []float64{0, 45}, append(f.Candela, f.Candela[0]) },
		"mean rotational":             func(f *File) { f.Symmetry = Quadrant },
		"-3 lm per lamp":              func(f *File) { f.Absolute, f.Lumens = false, -3 },
	} {
		f := sample()
		spoil(f)
		var b bytes.Buffer
		if err := Write(&b, f); err == nil || !strings.Contains(err.Error(), want) || b.Len() > 0 {
			t.Errorf("got %v and %d bytes, want a sentence with %q", err, b.Len(), want)
		}
	}
}

func TestTheHalfThatMirrorsAcrossIsWrittenOut(t *testing.T) {
	f := sample()
	f.Horizontal, f.Symmetry = []float64{90, 120, 180, 270}, Bilateral
	f.Candela = [][]float64{{1}, {2}, {3}, {4}}
	planes, candela, symmetry, ok := f.Sphere()
	if !ok || symmetry != None || !slices.Equal(planes, []float64{90, 120, 180, 270, 60, 0}) || candela[4][0] != 2 || candela[5][0] != 3 {
		t.Errorf("%v %v %s %v", planes, candela, symmetry, ok)
	}
	f.Goniometry = TypeB
	if _, _, _, ok := f.Sphere(); ok {
		t.Error("type B is taken for type C")
	}
}

func TestReadingsAreReadHoweverTheyAreHeaded(t *testing.T) {
	for _, text := range []string{
		"angle,plane,lux,distance,ambient\n0,0,320,2,0.5\n-30,90,12.5,2,0.25\n",
		"# a yard lamp\ngamma_deg;C;lx;distance (cm);dark\n\n0;0;320;200;0,5\n−30;90;12,5;200;0,25\n",
		"\xef\xbb\xbfAngle [deg]\tC-plane\tilluminance/lx\tdistance_mm\tblocked\tremark\n0\t0\t320\t2000\t0.5\tok\n-30\t90\t12.5\t2000\t0.25\t\n",
		"γ,plane,lux (klx),d,ambient\n0,0,0.32,2,0.5\n-30,90,0.0125,2,0.25\n",
		"angle,plane,value,unit,distance,ambient\n0,0,320,lx,2,0.5\n-30,90,12.5,lux,2,0.25\n",
	} {
		r, err := ReadReadings("x.csv", strings.NewReader(text))
		if err != nil {
			t.Errorf("%v\n%s", err, text)
			continue
		}
		if r.Candela || !r.Planes || !r.Distances || len(r.Rows) != 2 {
			t.Errorf("%+v", r)
			continue
		}
		a, b := r.Rows[0], r.Rows[1]
		a.Line, b.Line = 0, 0
		if a != (Reading{Value: 320, Ambient: 0.5, Distance: 2}) || b != (Reading{Gamma: -30, Plane: 90, Value: 12.5, Ambient: 0.25, Distance: 2}) {
			t.Errorf("%+v from\n%s", r.Rows, text)
		}
	}
}

func TestWhatIsWrongWithReadingsIsSaidWhereItIs(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "the file is empty"},
		{"angle,lux\n", "no row below"},
		{"plane,lux\n0,3\n", "a column of planes but none of angles"},
		{"0,320\n10,300\n", "needs a column headed angle"},
		{"angle,lux,cd\n0,1,2\n", "columns of lux and of candela"},
		{"angle,value,unit\n0,1,lx\n10,2,cd\n", "line 3, column “unit”: found “cd” where the rows above"},
		{"angle,value,unit\n0,1,W\n", "lx or cd"},
		{"angle,plane\n0,1\n", "no column headed lux or cd"},
		{"angle,lux,distance\n0,1,0\n", "line 2, column “distance”: found “0”; a distance is above zero"},
		{"angle,lux\n0,-1\n", "line 2, column “lux”: found “-1”; a light meter reads zero or more"},
		{"angle,lux\n0,1\n190,1\n", "line 3, column “angle”"},
		{"angle,lux\n0,\n", "found “”"},
		{"angle,lux\n0,nan\n", "found “nan”"},
		{"angle,lux,lx\n0,1,1\n", "a second column"},
		{"angle,cd,ambient\n0,1,1\n", "reading in lux only"},
	} {
		_, err := ReadReadings("/some/where/x.csv", strings.NewReader(c.text))
		var p *ingest.Problem
		if !errors.As(err, &p) || !strings.HasPrefix(err.Error(), "x.csv") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want a sentence with %q", err, c.want)
		}
	}
}

func FuzzReadReadings(f *testing.F) {
	f.Add([]byte("angle,plane,lux,distance,ambient\n0,0,320,2,0.5\n-30,90,12.5,2,0.25\n"))
	f.Add([]byte("γ;value;unit\n0;1,5;lx\n\"10\";2;cd"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		r, err := ReadReadings("x", bytes.NewReader(raw))
		if err != nil {
			var p *ingest.Problem
			if !errors.As(err, &p) {
				t.Fatal(err)
			}
			if s := p.Error(); p.Found == "" || p.Want == "" || strings.ContainsAny(s, "\r\n\x00") {
				t.Fatalf("no clear sentence: %q", s)
			}
			return
		}
		for _, row := range r.Rows {
			if !(math.Abs(row.Gamma) <= 180 && math.Abs(row.Plane) <= 360 && math.Abs(row.Value) <= 1e18) || r.Distances && !(row.Distance > 0) {
				t.Fatalf("%+v", row)
			}
		}
	})
}
