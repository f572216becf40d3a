package calibration

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestALineIsFoundWhereItIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.Float64Range(1.2, 30).Draw(t, "fwhm")
		at := rapid.Float64Range(100, 156).Draw(t, "centre")
		share := 0.0
		if width > 4 { // the wings of narrower ones fall between the pixels
			share = rapid.SampledFrom([]float64{0, 0.3}).Draw(t, "lorentz")
		}
		base := rapid.Float64Range(-50, 300).Draw(t, "base")
		counts := make([]float64, 256)
		for p := range counts {
			counts[p] = base + 0.1*float64(p) + 5e4*profilePixel(float64(p)-at, width, share)
		}
		peaks := FindPeaks(counts, nil)
		if len(peaks) != 1 {
			t.Fatalf("%d peaks", len(peaks))
		}
		if d := math.Abs(peaks[0].Pixel - at); d > 0.005*max(1, width/3) {
			t.Errorf("found at %.4f, is at %.4f", peaks[0].Pixel, at)
		}
		if d := math.Abs(peaks[0].FWHM/width - 1); share == 0 && d > 0.01 {
			t.Errorf("width %.3f, is %.3f", peaks[0].FWHM, width)
		}
	})
}

func TestTwoLinesThatJustSeparateAreNotPulledTogether(t *testing.T) {
	counts := make([]float64, 200)
	for p := range counts {
		counts[p] = 1e4*gaussPixel(float64(p)-95.3, 6) + 6e3*gaussPixel(float64(p)-103.1, 6)
	}
	peaks := FindPeaks(counts, nil)
	if len(peaks) != 2 || math.Abs(peaks[0].Pixel-95.3) > 0.02 || math.Abs(peaks[1].Pixel-103.1) > 0.02 {
		t.Errorf("got %+v", peaks)
	}
}

func TestNoiseHasNoPeaks(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	found := 0
	for range 50 {
		counts := make([]float64, 1024)
		for p := range counts {
			counts[p] = 100 + 8*r.NormFloat64()
		}
		found += len(FindPeaks(counts, nil))
	}
	if found > 10 { // 50 × 1024 pixels
		t.Errorf("%d peaks in noise", found)
	}
	if p := FindPeaks(make([]float64, 100), nil); len(p) != 0 {
		t.Errorf("peaks in nothing: %v", p)
	}
}

func TestAHumpIsNoLineAndAClippedLineIsMarked(t *testing.T) {
	counts := make([]float64, 600)
	clipped := make([]bool, 600)
	for p := range counts {
		x := float64(p)
		counts[p] = 2e4*(gaussPixel(x-100.2, 4)+gaussPixel(x-160.9, 4)+gaussPixel(x-420.4, 4)) + 6e5*gaussPixel(x-300, 60)
		if counts[p] > 4000 && p < 110 {
			counts[p], clipped[p] = 4000, true
		}
	}
	var lines, humps, cut int
	for _, p := range FindPeaks(counts, clipped) {
		switch {
		case p.Broad:
			humps++
		case p.Saturated:
			cut++
		default:
			lines++
		}
	}
	if lines != 2 || cut != 1 || humps > 1 {
		t.Errorf("%d lines, %d clipped, %d humps", lines, cut, humps)
	}
}

func FuzzFindPeaks(f *testing.F) {
	f.Add([]byte{0, 0, 0, 9, 200, 9, 0, 0, 0, 0, 3, 3, 3, 0})
	f.Add([]byte("a flat line and then some more of it"))
	f.Fuzz(func(t *testing.T, b []byte) {
		counts := make([]float64, len(b))
		for i, v := range b {
			counts[i] = float64(v) - 20
		}
		for _, p := range FindPeaks(counts, nil) {
			if !(p.Pixel > -2 && p.Pixel < float64(len(b))+1) || !(p.FWHM > 0) || !(p.Area > 0) {
				t.Fatalf("%+v in %v", p, b)
			}
		}
	})
}
