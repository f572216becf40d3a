package instrument

import (
	"fmt"
	"math"

	"lampassay/assay/uncertainty"
	"lampassay/light/calibration"
)

// noiseReach is over how many samples to either side a variance is averaged: of
// a few frames one sample alone says little.
const noiseReach = 12

// mostBlocks is how many parts the frames of an exposure are left out in.
const mostBlocks = 12

// noise finds the noise of the spectrum from the scatter of the frames, where
// there are two or more of each exposure and of each dark: a jackknife, which
// leaves out frames in turn and goes through the whole chain. The scale of the
// light may change between frames and is no noise.
func (k *known) noise(m Measurement, opt Options) {
	variance := make([]float64, len(k.axis))
	frames := 0
	for _, list := range [][]calibration.Frame{m.Frames, m.Darks} {
		for _, group := range sameExposures(list) {
			if len(group) < 2 || !k.leaveOut(variance, m, opt, group) {
				return
			}
			frames += len(group)
		}
	}
	if frames == 0 {
		return
	}
	k.s.Noise.Floor, k.s.Noise.Peak = 0, 0
	for i := range variance {
		lo, hi := max(i-noiseReach, 0), min(i+noiseReach+1, len(variance))
		sum := 0.0
		for _, v := range variance[lo:hi] {
			sum += v
		}
		k.s.Noise.Samples[i] = math.Hypot(k.s.Noise.Samples[i], math.Sqrt(sum/float64(hi-lo)))
	}
	k.s.Sources[uncertainty.PixelNoise] = fmt.Sprintf("the scatter of %d frames, and the noise of the response", frames)
}

// sameExposures lists pointers to the frames by exposure.
func sameExposures(frames []calibration.Frame) (groups [][]*calibration.Frame) {
next:
	for i := range frames {
		for g := range groups {
			if sameExposure(groups[g][0].ExposureMs, frames[i].ExposureMs) {
				groups[g] = append(groups[g], &frames[i])
				continue next
			}
		}
		groups = append(groups, []*calibration.Frame{&frames[i]})
	}
	return groups
}

// leaveOut adds the jackknife variance of the spectrum from one group of frames.
func (k *known) leaveOut(variance []float64, m Measurement, opt Options, group []*calibration.Frame) bool {
	blocks := min(len(group), mostBlocks)
	var all [][]float64
	mean := make([]float64, len(variance))
	for b := range blocks {
		out := map[*calibration.Frame]bool{}
		for i, f := range group {
			if i%blocks == b {
				out[f] = true
			}
		}
		c, err := k.in.Correct(Measurement{Frames: kept(m.Frames, out), Darks: kept(m.Darks, out)}, opt)
		if err != nil || c.Spectrum.Len() != len(variance) {
			return false
		}
		v := c.Spectrum.Values()
		var own, total float64
		for i := range v {
			own += v[i]
			total += k.values[i]
		}
		if !(own > 0) {
			return false
		}
		scaled := make([]float64, len(v))
		for i := range v {
			scaled[i] = v[i] * total / own
			mean[i] += scaled[i] / float64(blocks)
		}
		all = append(all, scaled)
	}
	weight := float64(blocks-1) / float64(blocks)
	for _, v := range all {
		for i := range v {
			variance[i] += weight * (v[i] - mean[i]) * (v[i] - mean[i])
		}
	}
	return true
}

// kept returns the frames that are not left out.
func kept(frames []calibration.Frame, out map[*calibration.Frame]bool) (rest []calibration.Frame) {
	for i := range frames {
		if !out[&frames[i]] {
			rest = append(rest, frames[i])
		}
	}
	return rest
}
