package tidewater

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/calibration"
)

func TestRecordingsAreRawCountsOfOneInstrument(t *testing.T) {
	clips := 0
	names := map[string]bool{}
	for _, r := range Recordings() {
		var first, second bytes.Buffer
		if err := r.Write(&first); err != nil {
			t.Fatal(err)
		}
		if err := r.Write(&second); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Errorf("%s: written twice, and not the same (%v)", r.FileName, err)
		}
		if names[r.FileName] {
			t.Errorf("%s: twice", r.FileName)
		}
		names[r.FileName] = true
		file, err := ingest.Read(r.FileName, &first, ingest.Options{Axis: instrument.PixelsAsNm})
		if err != nil {
			t.Fatal(err)
		}
		frame, err := instrument.FrameFromFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if len(frame.Counts) != clubPixels || frame.ExposureMs != r.ExposureMs {
			t.Errorf("%s: %d pixels, %g ms", r.FileName, len(frame.Counts), frame.ExposureMs)
		}
		if slices.Contains(calibration.ClipMask(frame.Counts, ClubFullScale), true) {
			clips++
		}
		if dark := r.model == nil; dark != (slices.Max(frame.Counts) < 1100) {
			t.Errorf("%s: highest count %g", r.FileName, slices.Max(frame.Counts))
		}
	}
	if clips != 1 {
		t.Errorf("%d recordings clip: one is meant to", clips)
	}
}

func TestTheClubsFilamentIsTheReferenceItIsSaidToBe(t *testing.T) {
	ref, err := calibration.TungstenReference(ClubHalogenCCT, 0)
	if err != nil {
		t.Fatal(err)
	}
	m := filament()
	for nm := 351.0; nm < 800; nm += 7 {
		want, _ := ref.At(nm)
		if got := m.at(nm); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%g nm: %g, want %g", nm, got, want)
		}
	}
	// Beyond the reference's range the light goes on without a step.
	for _, edge := range []float64{350, 800} {
		if a, b := m.at(edge-1e-6), m.at(edge+1e-6); math.Abs(a/b-1) > 1e-6 {
			t.Errorf("a step at %g nm: %g to %g", edge, a, b)
		}
	}
}
