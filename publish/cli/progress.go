package cli

import (
	"fmt"
	"io"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress shows how far a long run is, on a terminal only.
type progress struct {
	pool *mpb.Progress // nil where there is no terminal
	bar  *mpb.Bar
}

func startProgress(w io.Writer, what string, total int) *progress {
	if !isTerminal(w) {
		return &progress{}
	}
	pool := mpb.New(mpb.WithOutput(w), mpb.WithWidth(40))
	bar := pool.AddBar(int64(total),
		mpb.PrependDecorators(decor.Name(what+" "), decor.CountersNoUnit("%d of %d ")),
		mpb.AppendDecorators(decor.AverageETA(decor.ET_STYLE_GO)),
		mpb.BarRemoveOnComplete(),
	)
	return &progress{pool, bar}
}

func (p *progress) add(n int) {
	if p.bar != nil {
		p.bar.IncrBy(n)
	}
}

// say prints a line without tearing the bar.
func (p *progress) say(w io.Writer, format string, args ...any) {
	if p.pool != nil {
		w = p.pool
	}
	fmt.Fprintf(w, format, args...)
}

// stop ends the display, wherever it is.
func (p *progress) stop() {
	if p.pool != nil {
		p.bar.Abort(true)
		p.pool.Wait()
	}
}
