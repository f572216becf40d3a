package tidewater

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
)

// Course is the spectra of one of the club's lamps over time, in one file.
type Course struct {
	FileName   string
	Name       string
	Instrument Instrument
	StepS      int // seconds from one spectrum to the next
	Spectra    int

	parts []model
	at    func(seconds float64) []float64 // how much there is of each part
	seed  uint64
}

// RunUp is the low-pressure sodium lamp from its switch on: a quarter of an hour
// in which the red glow of neon gives way to sodium.
func RunUp() Course {
	return Course{
		FileName: "low-pressure-sodium-run-up.csv", Name: "Level crossing lamp, from cold",
		Instrument: Instrument{FromNm: 400, ToNm: 850, PitchNm: 0.5, BandwidthNm: 1.2, Noise: 2e-4},
		StepS:      20, Spectra: 46,
		parts: []model{lowPressureSodiumVapour(), neonGlow()}, at: sodiumRunUp, seed: 9,
	}
}

// sodiumRunUp is how much sodium and how much of the glow shines some seconds after
// the lamp was switched on. The tube warms towards
// its working temperature, and the vapour over the sodium grows with it as
// exp(−L/RT) does. Where there is sodium to excite, neon, whose first level lies
// eight times as high, goes dark. Times and amounts are invented.
func sodiumRunUp(seconds float64) []float64 {
	const cold, hot, warming, latent = 293.0, 533.0, 210.0, 12000.0 // K, K, s, K
	if seconds <= 0 {
		return []float64{0, 0} // the lamp has not struck
	}
	kelvin := cold + (hot-cold)*(1-math.Exp(-seconds/warming))
	vapour := math.Exp(-latent * (1/kelvin - 1/hot)) // 1 when warm
	glow := 0.001 + 0.05/(1+math.Pow(vapour/0.02, 1.5))
	return []float64{1.1 * vapour / (vapour + 0.1), glow}
}

// Write writes the course as a table with a column for each moment: the same
// bytes each time.
func (c Course) Write(w io.Writer) error {
	axis := c.Instrument.axis()
	parts := make([][]float64, len(c.parts))
	for p, m := range c.parts {
		fine := make([]float64, int(math.Round((fineTo-fineFrom)/fineStep))+1)
		for i := range fine {
			fine[i] = m.at(fineNm(i))
		}
		for _, nm := range axis {
			parts[p] = append(parts[p], seen(fine, nm, c.Instrument.BandwidthNm))
		}
	}
	columns := make([][]float64, c.Spectra)
	noise := rand.New(rand.NewPCG(c.seed, 0))
	for k := range columns {
		amounts := c.at(float64(k * c.StepS))
		for i := range axis {
			v := 0.0
			for p, amount := range amounts {
				v += amount * parts[p][i]
			}
			// The exposure stays the same, and so does the noise of the dark.
			dark, light := noise.NormFloat64(), noise.NormFloat64()
			columns[k] = append(columns[k], v+c.Instrument.Noise*(dark+4*math.Sqrt(v)*light))
		}
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\n# invented; relative spectral power\nnm", c.Name)
	for k := range columns {
		s := k * c.StepS
		fmt.Fprintf(b, ",%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	fmt.Fprintln(b)
	for i, nm := range axis {
		fmt.Fprintf(b, "%.1f", nm)
		for k := range columns {
			fmt.Fprintf(b, ",%.5f", columns[k][i])
		}
		fmt.Fprintln(b)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("tidewater: write %s: %w", c.FileName, err)
	}
	return nil
}
