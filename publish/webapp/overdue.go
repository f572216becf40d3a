package webapp

import (
	"context"

	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
)

// overdue is why something that a sitting was made with is not to be trusted today.
type overdue struct{ Name, Href, Text string }

// day is this day.
func (s *Server) day() notebook.Day { return instrument.DayOf(s.now()) }

// madeWith are the instruments and reference lamps that a sitting names, and what of
// them is past its time.
func (s *Server) madeWith(ctx context.Context, sit *notebook.Sitting) (ins []*notebook.Instrument, refs []*notebook.Reference, late []overdue, err error) {
	for _, id := range sit.Instruments {
		in, err := s.nb.Instruments().Get(ctx, id)
		if err != nil {
			return nil, nil, nil, err
		}
		ins = append(ins, in)
		clauses, err := evidence.Overdue(ctx, s.nb, in, s.day())
		if err != nil {
			return nil, nil, nil, err
		}
		for _, text := range clauses {
			late = append(late, overdue{in.Name, hrefOf(notebook.Ref{Kind: notebook.KindInstrument, ID: id}), text})
		}
	}
	for _, id := range sit.References {
		ref, err := s.nb.References().Get(ctx, id)
		if err != nil {
			return nil, nil, nil, err
		}
		refs = append(refs, ref)
		for _, text := range ref.Overdue(s.day()) {
			late = append(late, overdue{ref.Name, referencePath(id), text})
		}
	}
	return ins, refs, late, nil
}
