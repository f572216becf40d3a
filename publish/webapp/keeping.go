package webapp

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"time"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/evidence"
	"lampassay/bench/ingest"
	"lampassay/bench/notebook"
	"lampassay/light/spectrum"
)

// keepAssay computes a sitting's assay and keeps it.
func (s *Server) keepAssay(ctx context.Context, sit *notebook.Sitting, e *evidence.Evidence) (*notebook.Assay, error) {
	l, err := s.nb.Lamps().Get(ctx, sit.Lamp)
	if err != nil {
		return nil, err
	}
	done, err := s.evaluate(ctx, e)
	if err != nil {
		return nil, err
	}
	made := s.now().UTC()
	curve, err := s.keepSpectrum(ctx, l, made, e.Spectrum)
	if err != nil {
		return nil, err
	}
	strip, err := stripValues(e.Spectrum)
	if err != nil {
		return nil, err
	}
	r := done.lamp.Result
	record, err := recordOf(done, e)
	if err != nil {
		return nil, err
	}
	methods := e.Terms.Methods()
	methods[methodAssay] = assay.MethodVersion
	kept, err := s.nb.Assays().Add(ctx, notebook.Assay{
		Lamp: sit.Lamp, Sitting: sit.ID, Made: made, Program: s.opt.Version, Methods: methods,
		Inputs: e.Inputs, Files: e.Files, Figures: figuresOf(r), Strip: strip, Spectrum: curve, Record: bytes.TrimSpace(record),
	})
	if err != nil {
		return nil, err
	}
	_, err = s.sheets.get(ctx, kept.ID, func(context.Context) (*assayed, error) { return done, nil })
	return kept, err
}

// figuresOf are the values that lists show: those that their methods stand for.
func figuresOf(r *assay.Result) map[string]float64 {
	figures := map[string]float64{}
	for _, d := range quantity.All() {
		if v, ok := r.Value(d.ID); ok && !d.Detail && r.InScope(d.ID) {
			figures[d.Key] = v
		}
	}
	return figures
}

// keepSpectrum keeps the curve as a file that others can read.
func (s *Server) keepSpectrum(ctx context.Context, l *notebook.Lamp, made time.Time, sp *spectrum.Spectrum) (*notebook.Attachment, error) {
	about := &ingest.TM27{Header: []ingest.Element{
		{Name: "Description", Text: nameOfLamp(l)},
		{Name: "DocumentCreator", Text: "Lampassay " + s.opt.Version},
		{Name: "DocumentCreationDate", Text: made.Format("2006-01-02T15:04:05")},
	}}
	var b bytes.Buffer
	if err := ingest.WriteTM27(&b, sp, about); err != nil {
		return nil, err
	}
	a, err := s.nb.Keep(ctx, fmt.Sprintf("lamp-%d-spectrum.spdx", l.ID), "application/xml", &b)
	return &a, err
}

// stripValues are the mean powers around every second nanometre of the visible
// range, the largest 1: a line narrower than that keeps its energy.
func stripValues(sp *spectrum.Spectrum) ([]float64, error) {
	p, err := sp.Project(spectrum.Sampled)
	if err != nil {
		return nil, err
	}
	strip := make([]float64, stripSteps+1)
	most := 0.0
	for i := range strip {
		at := stripFrom - spectrum.GridFirst + 2*i
		strip[i] = max(p.B[at-1]/2+p.B[at]+p.B[at+1]/2, 0)
		most = max(most, strip[i])
	}
	if most == 0 {
		return nil, nil
	}
	for i := range strip {
		strip[i] = math.Round(strip[i]/most*1e4) / 1e4
	}
	return strip, nil
}
