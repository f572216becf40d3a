package figure

import (
	"math"
	"strings"
	"testing"
)

// instrumentLines are the lines of an invented instrument.
func instrumentLines() Residuals {
	r := Residuals{Law: "polynomial of order 3", RMS: 0.012, Confident: true,
		HalfPixel: func(nm float64) float64 { return 0.36 - 0.0001*(nm-400) },
		Width:     func(nm float64) float64 { return 1.9 + 0.0002*(nm-400) },
	}
	for i, l := range []struct {
		nm   float64
		name string
	}{{365.48, "Hg I"}, {404.656, "Hg I"}, {435.834, "Hg I"}, {546.075, "Hg I"}, {585.249, "Ne I"}, {603, "Ne I"}, {640.225, "Ne I"}, {703.241, "Ne I"}, {763.511, "Ar I"}, {811.4, "Ar I"}, {912.297, "Ar I"}} {
		r.Lines = append(r.Lines, ResidualLine{Nm: l.nm, Name: l.name, Emitter: l.name[:2], Residual: 0.03 * math.Sin(float64(3*i)), Expanded: 0.02 * float64(1+i%4), FWHM: 1.95 + 0.05*math.Cos(float64(i)), Used: true})
	}
	r.Lines[6].Used, r.Lines[6].Residual, r.Lines[6].FWHM = false, 0.9, 3.4
	return r
}

// siliconResponse is an invented response.
func siliconResponse() Response {
	r := Response{Reference: "tungsten filament of CCT 2856 K", DetectorFrom: 334, DetectorTo: 996}
	for nm := 372.0; nm <= 800; nm += 2 {
		r.Wavelengths = append(r.Wavelengths, nm)
		r.Values = append(r.Values, math.Exp(-math.Pow((nm-610)/190, 2)))
		r.U = append(r.U, 0.001+0.05*math.Exp(-(nm-372)/25))
		r.Tilt = append(r.Tilt, 0.09*(560-nm)/188*math.Exp(-(nm-372)/500))
	}
	return r
}

func calibrationPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	doubtful := instrumentLines()
	doubtful.Confident, doubtful.Width = false, nil
	bare := siliconResponse()
	bare.DetectorFrom, bare.DetectorTo = 0, 0
	return map[string]*Picture{
		"residuals":          made(instrumentLines().Picture()),
		"residuals-doubtful": made(doubtful.Picture()),
		"response":           made(siliconResponse().Picture()),
		"response-bare":      made(bare.Picture()),
	}
}

func TestAPictureOfACalibrationSaysWhatItShows(t *testing.T) {
	p := calibrationPictures(t)
	for _, c := range []struct{ picture, part, want string }{
		{"residuals", p["residuals"].Title, "10 lines are met to 0.012 nm by a polynomial of order 3"},
		{"residuals-doubtful", p["residuals-doubtful"].Title, "Not certain: "},
		{"residuals", strings.Join(p["residuals"].Rows[6], " "), "no"},
		{"response", p["response"].Title, "known from 372 to 800 nm"},
		{"response", p["response"].Alt, "372 nm to 800 nm"},
	} {
		if !strings.Contains(c.part, c.want) {
			t.Errorf("%s: %q has no %q", c.picture, c.part, c.want)
		}
	}
}

func TestACalibrationThatCannotBeDrawnIsRefused(t *testing.T) {
	without := instrumentLines()
	without.HalfPixel = nil
	unused := instrumentLines()
	unused.Lines = unused.Lines[6:7]
	odd := instrumentLines()
	odd.Lines[2].Residual = math.NaN()
	short := siliconResponse()
	short.U = short.U[1:]
	broken := siliconResponse()
	broken.Tilt[3] = math.Inf(1)
	back := siliconResponse()
	back.Wavelengths[4] = 300
	for name, make := range map[string]func() (*Picture, error){
		"no pixel":         without.Picture,
		"no line used":     unused.Picture,
		"a line astray":    odd.Picture,
		"too few u":        short.Picture,
		"an endless tilt":  broken.Picture,
		"wavelengths back": back.Picture,
	} {
		if _, err := make(); err == nil || !strings.HasPrefix(err.Error(), "figure: res") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
