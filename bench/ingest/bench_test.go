package ingest

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"sync"
	"testing"
)

// wideText writes an invented table: 801 wavelengths and so many columns.
func wideText(columns int) string {
	rng := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	b.WriteString("nm")
	for c := range columns {
		fmt.Fprintf(&b, ",s%d", c)
	}
	b.WriteByte('\n')
	for i := range 801 {
		l := 380 + float64(i)/2
		fmt.Fprintf(&b, "%.1f", l)
		for range columns {
			fmt.Fprintf(&b, ",%.5f", math.Exp(-(l-550)*(l-550)/5000)+0.002*rng.NormFloat64())
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func BenchmarkReadText2048(b *testing.B) {
	var text bytes.Buffer
	fmt.Fprintf(&text, "Integration time: 100 ms\nWavelength [nm]\tIrradiance [mW/m²/nm]\n")
	for i := range 2048 {
		fmt.Fprintf(&text, "%.3f\t%.6e\n", 340+0.31*float64(i), 1+math.Sin(float64(i)/90))
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read("tube.txt", bytes.NewReader(text.Bytes()), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkWide opens, reads and parses a whole batch on all cores.
func BenchmarkWide(b *testing.B) {
	text := wideText(2000)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		w, err := OpenWide("batch.csv", strings.NewReader(text), int64(len(text)), Options{})
		if err != nil {
			b.Fatal(err)
		}
		blocks := make(chan *Block)
		var wg sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				var dst []float64
				var errs []error
				for blk := range blocks {
					dst = append(dst[:0], make([]float64, blk.Columns()*len(w.Axis))...)
					errs = append(errs[:0], make([]error, blk.Columns())...)
					blk.Parse(dst, errs)
				}
			})
		}
		for blk, err := range w.Blocks(context.Background(), 64) {
			if err != nil {
				b.Fatal(err)
			}
			blocks <- blk
		}
		close(blocks)
		wg.Wait()
	}
}

// BenchmarkBlockParse is the parsing alone, on one core.
func BenchmarkBlockParse(b *testing.B) {
	text := wideText(64)
	w, err := OpenWide("batch.csv", strings.NewReader(text), int64(len(text)), Options{})
	if err != nil {
		b.Fatal(err)
	}
	for blk, err := range w.Blocks(context.Background(), 64) {
		if err != nil {
			b.Fatal(err)
		}
		dst, errs := make([]float64, 64*len(w.Axis)), make([]error, 64)
		b.SetBytes(int64(len(blk.raw)))
		b.ReportAllocs()
		for b.Loop() {
			blk.Parse(dst, errs)
		}
	}
}
