package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/ingest"
	"lampassay/light/spectrum"
)

// blockColumns is how many spectra a worker takes at a time: enough to be worth
// a hand-over, few enough that memory holds a handful of blocks.
const blockColumns = 64

// batch evaluates the spectra of a wide file and writes one JSON object each, in
// the file's order. A reader cuts the file into blocks of columns, workers parse
// and evaluate them, and a writer puts them back in order. What is in flight is
// bounded by the queue, so memory does not grow with the number of spectra.
type batch struct {
	wide      *ingest.Wide
	projector *spectrum.Projector
	given     assay.Given
	ids       []quantity.ID
	input     assay.Input
	out       io.Writer
	talk      io.Writer
	progress  *progress
}

// job is one block on its way through a worker.
type job struct {
	block *ingest.Block
	done  chan answer
}

// answer is what a block became.
type answer struct {
	lines  []byte
	count  int
	failed []error // spectra that could not be read
}

func runBatch(ctx context.Context, s streams, o *assayOptions, wide *ingest.Wide, given assay.Given, ids []quantity.ID) error {
	if ids == nil {
		ids = assay.Default()
	}
	pr, err := spectrum.NewProjector(wide.Axis, wide.Projection)
	if err != nil {
		return badInput("%s: %w", wide.Name, err)
	}
	b := &batch{
		wide: wide, projector: pr, given: given, ids: ids, out: s.out, talk: s.err,
		input: assay.Input{
			File: filepath.Base(wide.Name), SHA256: wide.SHA256, Samples: len(wide.Axis), FromNm: wide.Axis[0], ToNm: wide.Axis[len(wide.Axis)-1],
			Quantity: wide.Quantity.String(), Projection: wide.Projection.String(),
		},
	}
	for _, line := range wide.Report.Sentences() {
		fmt.Fprintf(s.err, "lampassay: %s\n", line)
	}
	b.progress = startProgress(s.err, "spectra", wide.Columns())
	defer b.progress.stop()
	workers := o.jobs
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	return b.run(ctx, workers)
}

func (b *batch) run(ctx context.Context, workers int) error {
	g, ctx := errgroup.WithContext(ctx)
	work := make(chan job, workers)    // read ahead while all are busy
	order := make(chan job, 4*workers) // what may wait for its turn to be written
	buffers := &sync.Pool{New: func() any { return new([]byte) }}

	g.Go(func() error { // reader
		defer close(work)
		defer close(order)
		for block, err := range b.wide.Blocks(ctx, blockColumns) {
			if err != nil {
				return err
			}
			j := job{block, make(chan answer, 1)}
			for _, queue := range []chan job{order, work} {
				select {
				case queue <- j:
				case <-ctx.Done():
					return ctx.Err()
				}
			}
		}
		return nil
	})
	for range workers {
		g.Go(func() error {
			w := newBatchWorker(b)
			for j := range work {
				j.done <- w.evaluate(j.block, (*buffers.Get().(*[]byte))[:0])
			}
			return nil
		})
	}
	failed := 0
	g.Go(func() error { // writer
		for j := range order {
			var a answer
			select {
			case a = <-j.done:
			case <-ctx.Done():
				return ctx.Err()
			}
			if _, err := b.out.Write(a.lines); err != nil {
				return err
			}
			for _, err := range a.failed {
				b.progress.say(b.talk, "lampassay: %v\n", err)
			}
			failed += len(a.failed)
			b.progress.add(a.count)
			buffers.Put(&a.lines)
		}
		return nil
	})
	if err := g.Wait(); err != nil {
		return err
	}
	if failed > 0 {
		return badInput("%d of %d spectra could not be read: see above; the others are done", failed, b.wide.Columns())
	}
	return nil
}

// batchWorker holds what one goroutine needs to evaluate block after block.
type batchWorker struct {
	*batch
	evaluator *assay.Evaluator
	recorder  *assay.Recorder
	values    []float64 // a block's spectra, one after the other
	errs      []error
	projected spectrum.Projected
	result    assay.Result
}

func newBatchWorker(b *batch) *batchWorker {
	e := assay.NewEvaluator()
	e.Only(b.ids)
	return &batchWorker{
		batch: b, evaluator: e, recorder: assay.NewRecorder(b.ids),
		values: make([]float64, blockColumns*len(b.wide.Axis)), errs: make([]error, blockColumns),
	}
}

// evaluate turns a block into JSON lines, appended to the given ones.
func (w *batchWorker) evaluate(block *ingest.Block, lines []byte) answer {
	n, size := block.Columns(), len(w.wide.Axis)
	block.Parse(w.values[:n*size], w.errs[:n])
	a := answer{lines: lines, count: n}
	in := w.input
	for c := range n {
		if w.errs[c] != nil {
			a.failed = append(a.failed, w.errs[c])
			continue
		}
		w.projector.Project(&w.projected, w.values[c*size:(c+1)*size])
		w.projected.Quantity = w.wide.Quantity
		w.evaluator.Evaluate(&w.projected, &w.given, &w.result)
		in.Name = block.Names[c]
		a.lines = w.recorder.Append(a.lines, &in, &w.result, w.wide.Report.Warnings)
	}
	return a
}
