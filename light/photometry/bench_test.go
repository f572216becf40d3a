package photometry

import (
	"testing"

	"lampassay/light/spectrum"
)

func BenchmarkRatios(b *testing.B) {
	p := illuminant(b, "FL2", spectrum.Sampled)
	b.ReportAllocs()
	for b.Loop() {
		LER(p)
		SPRatio(p)
		PhotonsPerLumen(p)
		for a := range alphaCount {
			DER(a, p)
		}
	}
}

func BenchmarkMesopic(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Mesopic(0.3, 1.6); err != nil {
			b.Fatal(err)
		}
	}
}

func TestNothingAllocates(t *testing.T) {
	p := illuminant(t, "FL2", spectrum.Sampled)
	if n := testing.AllocsPerRun(50, func() {
		LER(p)
		SPRatio(p)
		PhotonsPerLumen(p)
		DER(Melanopic, p)
		EDI(SCone, p)
		_, _, _ = Mesopic(0.3, 1.6)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
