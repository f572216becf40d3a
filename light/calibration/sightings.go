package calibration

import "math"

// Sighting is one recording laid out for somebody who pairs by hand: every peak
// that was found, and every line that the lamp could show there.
type Sighting struct {
	Recording string
	Peaks     []Peak    // by pixel, broad and saturated ones included
	Lines     []Sighted // by wavelength
}

// Sighted is a line of the lamp, or several that the instrument shows as one.
type Sighted struct {
	Name     string  // "Hg I 546.075"
	Nm       float64 // intensity-weighted place
	LineNm   float64 // of its strongest member: what a [GivenPair] calls it by
	Strength float64 // relative to the strongest line of the same emitter, 0 to 1; unresolved lines added up
	Pixel    float64 // where the axis puts it, on the detector or beyond
}

// Sightings returns what recordings show and what their lamps offer, laid out by an
// axis. It errs as [CalibrateWavelength] does where a recording cannot anchor
// anything.
func Sightings(recordings []Recording, axis *Dispersion) ([]Sighting, error) {
	s, err := newSearch(recordings, Expected{})
	if err != nil {
		return nil, err
	}
	last := float64(s.pixels - 1)
	all := make([]Sighting, len(s.sights))
	for i, v := range s.sights {
		all[i] = Sighting{Recording: recordings[i].Name, Peaks: v.peaks}
		for _, f := range v.features(v.width * axis.Slope(last/2)) {
			strongest := f.lines[0]
			for _, l := range f.lines {
				if l.Strength > strongest.Strength {
					strongest = l
				}
			}
			all[i].Lines = append(all[i].Lines, Sighted{f.name(), f.nm, strongest.Nm, f.strength, axis.PixelAt(f.nm)})
		}
	}
	return all, nil
}

// RoughAxis is a straight line that puts all lines of the lamps on a detector:
// somewhere to begin pairing by hand where no axis was found.
func RoughAxis(pixels int, lamps ...*Lamp) Dispersion {
	from, to := math.Inf(1), math.Inf(-1)
	for _, lamp := range lamps {
		for _, l := range lamp.Lines {
			from, to = min(from, l.Nm), max(to, l.Nm)
		}
	}
	half := 0.55 * (to - from)
	return Dispersion{Model: Polynomial, Pixels: pixels, Coefficients: []float64{(from + to) / 2, half}}
}
