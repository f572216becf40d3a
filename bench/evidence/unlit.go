package evidence

import (
	"context"
	"slices"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// unlitShare is the share of the strongest light of its source below which a spectrum
// is taken for one of a lamp that is off (judgement; as for run-ups).
const unlitShare = 0.05

// lookedAt is how many spectra of a source are looked at for the strongest.
const lookedAt = 16

// lit finds the last lit spectrum where the latest is not: 0 where it is, or where
// there is none to compare it with. numbers are those of its source's spectra.
func (c *chooser) lit(ctx context.Context, latest *notebook.Reading, numbers []int64) (int64, error) {
	numbers = slices.DeleteFunc(slices.Clone(numbers), func(n int64) bool { return n >= latest.N || c.sit.StruckOut(n) != "" })
	if len(numbers) == 0 {
		return 0, nil
	}
	see := live.Photometer()
	now, ok := lightOf(see, latest)
	if !ok {
		return 0, nil
	}
	seen := map[int]float64{} // light by place in numbers; of another kind of spectrum 0
	at := func(i int) (float64, error) {
		if light, has := seen[i]; has {
			return light, nil
		}
		r, err := Reading(ctx, c.nb, c.sit.ID, numbers[i])
		if err != nil {
			return 0, err
		}
		light := 0.0
		if isSpectrum(r) && alike(r, latest) && r.Curve.Quantity == latest.Curve.Quantity {
			light, _ = lightOf(see, r)
		}
		seen[i] = light
		return light, nil
	}
	most := 0.0
	last := len(numbers) - 1
	for k := range min(lookedAt, len(numbers)) {
		light, err := at(last - k*len(numbers)/min(lookedAt, len(numbers)))
		if err != nil {
			return 0, err
		}
		most = max(most, light)
	}
	if !(now < unlitShare*most) {
		return 0, nil
	}
	// Between the last of those that is lit and the next the lamp went out; halving
	// finds where.
	from, to := -1, len(numbers)
	for i, light := range seen {
		if light >= unlitShare*most {
			from = max(from, i)
		}
	}
	for i := range seen {
		if i > from {
			to = min(to, i)
		}
	}
	for to-from > 1 {
		i := from + (to-from)/2
		light, err := at(i)
		if err != nil {
			return 0, err
		}
		if light >= unlitShare*most {
			from = i
		} else {
			to = i
		}
	}
	return numbers[from], nil
}

// lightOf is how much light a spectrum holds, to be compared with others of its kind
// from one source. Raw counts are taken above their least, which the detector gives
// in the dark too, and by the time of exposure where it is told.
func lightOf(see func(*notebook.Reading) []notebook.Value, r *notebook.Reading) (light float64, ok bool) {
	c := *r.Curve
	if c.Quantity == spectrum.Counts.String() {
		c.Samples = slices.Clone(c.Samples)
		least := slices.Min(c.Samples)
		for i := range c.Samples {
			c.Samples[i] -= least
			if c.ExposureMs > 0 {
				c.Samples[i] /= c.ExposureMs
			}
		}
	}
	for _, v := range see(&notebook.Reading{Channel: r.Channel, Curve: &c}) {
		if v.Key == live.LightKey && v.V != nil {
			return *v.V, true
		}
	}
	return 0, false
}
