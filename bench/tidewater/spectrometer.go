package tidewater

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"lampassay/light/calibration"
)

// The club's spectrometer is invented with the faults that small ones have. What
// it is sold with, an axis and a response, is not to be had: its files hold
// counts by pixel, as they come off the detector.
const (
	clubPixels     = 1024
	ClubFullScale  = 65535.0 // counts
	ClubBlindBelow = 348.0   // nm: the fibre lets nothing through
	clubBandwidth  = 2.0     // nm
	clubOrder      = 0.03    // second order over first, counts
	clubStray      = 0.01    // of all light, spread over all pixels
	clubReadNoise  = 12.0    // counts
	clubAverages   = 20
)

// ClubFilterEdge is the wavelength in nm below which the club's orange filter
// passes nothing.
const ClubFilterEdge = 555.0

// ClubHalogenCCT is the colour temperature, K, at which the club's halogen lamp
// is run.
const ClubHalogenCCT = 2856.0

// Recording is a file of raw counts of the club's spectrometer.
type Recording struct {
	FileName   string
	Of         string  // what it looked at
	ExposureMs float64 //
	model      model   // nil for a dark
	share      float64 // of full scale at the peak, were there no limit
	moved      float64 // pixels by which the detector has slipped since
	seed       uint64
}

// Recordings returns what the club recorded to calibrate its spectrometer, and
// one lamp to be assayed with it: the Harbour panel, at two exposures of which
// the longer clips.
func Recordings() []Recording {
	panel := highCRILED()
	return []Recording{
		{FileName: "dark-40ms.csv", Of: "the shutter", ExposureMs: 40, seed: 101},
		{FileName: "dark-100ms.csv", Of: "the shutter", ExposureMs: 100, seed: 102},
		{FileName: "mercury-argon.csv", Of: "mercury-argon lamp", ExposureMs: 40, model: lineLamp("mercury-argon"), share: 0.85, seed: 103},
		{FileName: "neon.csv", Of: "neon glow lamp", ExposureMs: 40, model: lineLamp("neon"), share: 0.8, seed: 104},
		{FileName: "mercury.csv", Of: "mercury lamp", ExposureMs: 40, model: lineLamp("mercury"), share: 0.9, seed: 105},
		{FileName: "halogen.csv", Of: "halogen lamp", ExposureMs: 100, model: filament(), share: 0.85, seed: 106},
		{FileName: "halogen-orange-filter.csv", Of: "halogen lamp behind the orange filter", ExposureMs: 100, model: behindFilter(filament()), share: 0.85, seed: 107},
		{FileName: "harbour-panel-100ms.csv", Of: "Harbour panel", ExposureMs: 100, model: panel, share: 1.5, seed: 108},
		{FileName: "harbour-panel-40ms.csv", Of: "Harbour panel", ExposureMs: 40, model: panel, share: 0.6, seed: 109},
		{FileName: "neon-next-week.csv", Of: "neon glow lamp, a week later", ExposureMs: 40, model: lineLamp("neon"), share: 0.8, moved: 0.8, seed: 110},
	}
}

// Write writes the recording: the same bytes each time.
func (r Recording) Write(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# Tidewater Model Railway Club, spectrometer no. 3 (invented)\n# recorded: %s\n# integration time: %g ms\n# averages: %d\npixel,counts\n", r.Of, r.ExposureMs, clubAverages)
	for p, c := range r.counts() {
		fmt.Fprintf(b, "%d,%.1f\n", p, c)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("tidewater: write %s: %w", r.FileName, err)
	}
	return nil
}

// clubNm is the wavelength at a place on the club's detector.
func clubNm(pixel float64) float64 {
	x := 2*pixel/(clubPixels-1) - 1
	return 665 + 335*x + 22*(1-x*x) - 4*x*x*x
}

// clubResponse is what detector, grating and fibre make of the light: weak at
// both ends, with the ripple of a coating.
func clubResponse(nm float64) float64 {
	return (0.02 + math.Exp(-math.Pow((nm-610)/190, 2))) * (1 + 0.04*math.Sin(nm/23)) / (1 + math.Exp(-(nm-ClubBlindBelow-6)/1.2))
}

// counts are the mean of some frames.
func (r Recording) counts() []float64 {
	rate := make([]float64, clubPixels)
	if r.model != nil {
		rate = r.rate()
	}
	noise := rand.New(rand.NewPCG(r.seed, 3))
	for p, light := range rate {
		offset := 900 + 0.4*r.ExposureMs + 40*math.Sin(float64(p)/31)
		sigma := math.Sqrt((clubReadNoise*clubReadNoise + light/4) / clubAverages)
		rate[p] = min(max(light+offset+sigma*noise.NormFloat64(), 0), ClubFullScale)
	}
	return rate
}

// rate is the light in counts: first order, its ghosts at twice the wavelength,
// and stray light.
func (r Recording) rate() []float64 {
	const step = fineStep
	values := make([]float64, int(math.Round((fineTo-fineFrom)/step))+1)
	for i := range values {
		values[i] = r.model.at(fineNm(i))
	}
	first, nm := make([]float64, clubPixels), make([]float64, clubPixels)
	perNm := func(at float64) float64 { return seen(values, at, clubBandwidth) * clubResponse(at) }
	sum := 0.0
	for p := range first {
		place := float64(p) - r.moved
		nm[p] = clubNm(place)
		width := clubNm(place+0.5) - clubNm(place-0.5)
		first[p] = perNm(nm[p]) * width
		if half := nm[p] / 2; half > nm[0] {
			first[p] += clubOrder * perNm(half) * width / 2
		}
		sum += first[p]
	}
	top := 0.0
	for p := range first {
		first[p] += clubStray * sum / clubPixels
		top = max(top, first[p])
	}
	for p := range first {
		first[p] *= r.share * ClubFullScale / top
	}
	return first
}

// lineLamp is a lamp of known lines at low pressure, with invented strengths.
func lineLamp(name string) (m model) {
	lamp, err := calibration.LampByName(name)
	if err != nil {
		panic(err) // the names stand above
	}
	for _, l := range lamp.Lines {
		m = append(m, gaussian(math.Pow(l.Strength, 0.8)/math.Sqrt(clubResponse(l.Nm)+0.01), l.Nm, 0.15))
	}
	return m
}

// filament is a tungsten lamp whose light has the colour temperature that the
// club runs its halogen lamp at.
func filament() model {
	kelvin := calibration.FilamentTemperature(ClubHalogenCCT)
	ref, err := calibration.TungstenReference(ClubHalogenCCT, 0)
	if err != nil {
		panic(err) // the temperature stands above
	}
	return model{func(nm float64) float64 {
		if v, ok := ref.At(nm); ok {
			return v
		}
		// Beyond the table of tungsten's emissivity the shape hardly matters.
		edge := min(max(nm, ref.FromNm), ref.ToNm)
		v, _ := ref.At(edge)
		return v * planckRatio(nm, edge, kelvin)
	}}
}

// behindFilter is a light behind a long-pass filter that opens above
// ClubFilterEdge.
func behindFilter(m model) model {
	return model{func(nm float64) float64 { return m.at(nm) / (1 + math.Exp(-(nm-ClubFilterEdge-15)/1.5)) }}
}
