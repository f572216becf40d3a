package rendition

import "testing"

// The lamp is FL2 at 4225 K: with a blackbody and daylight to be made for the
// blend of CIE 224 it is the dearest case. The CCT alternates so that nothing
// is remembered from one round to the next.
func BenchmarkAll(b *testing.B) {
	e, p := New(), sampledFL2(b)
	var cri CRI
	var tm TM30
	b.ReportAllocs()
	for i := range b.N {
		cct := 4225 + float64(i&1)
		e.CRI(p, cct, &cri)
		e.Fidelity(p, cct, &tm)
		e.SSI(p, cct)
	}
}

func BenchmarkCRI(b *testing.B) {
	e, p := New(), sampledFL2(b)
	var out CRI
	b.ReportAllocs()
	for i := range b.N {
		e.CRI(p, 4225+float64(i&1), &out)
	}
}

func BenchmarkFidelity(b *testing.B) {
	e, p := New(), sampledFL2(b)
	var out TM30
	b.ReportAllocs()
	for i := range b.N {
		e.Fidelity(p, 4225+float64(i&1), &out)
	}
}

func BenchmarkSSI(b *testing.B) {
	e, p := New(), sampledFL2(b)
	b.ReportAllocs()
	for i := range b.N {
		e.SSI(p, 4225+float64(i&1))
	}
}
