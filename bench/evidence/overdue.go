package evidence

import (
	"bytes"
	"context"
	"slices"

	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
)

// Overdue lists, in clauses, why an instrument is not to be trusted on a day: by the
// calibrations that are noted of it, and by a spectrometer's own file.
func Overdue(ctx context.Context, nb notebook.Notebook, in *notebook.Instrument, day notebook.Day) ([]string, error) {
	all := in.Overdue(day)
	if in.File == nil {
		return all, nil
	}
	raw, err := nb.File(ctx, in.File.SHA256)
	if err != nil {
		return nil, err
	}
	own, err := instrument.Read(bytes.NewReader(raw))
	if err != nil {
		return append(all, "its own file cannot be read"), nil
	}
	return append(all, own.Overdue(day)...), nil
}

// late lists what of a sitting's instruments and reference lamps was past its time on
// a day. The file by which the spectrum is corrected is left out: it speaks for itself.
func late(ctx context.Context, nb notebook.Notebook, sit *notebook.Sitting, inputs []notebook.Input, day notebook.Day) (all []string, err error) {
	for _, id := range sit.Instruments {
		in, err := nb.Instruments().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		if in.File != nil && slices.ContainsFunc(inputs, func(one notebook.Input) bool { return one.What == InstrumentFile && one.SHA256 == in.File.SHA256 }) {
			in.File = nil
		}
		clauses, err := Overdue(ctx, nb, in, day)
		if err != nil {
			return nil, err
		}
		for _, text := range clauses {
			all = append(all, "of the instruments, "+in.Name+": "+text)
		}
	}
	for _, id := range sit.References {
		ref, err := nb.References().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		for _, text := range ref.Overdue(day) {
			all = append(all, "of the reference lamps, "+ref.Name+": "+text)
		}
	}
	return all, nil
}
