package cli

import (
	"context"
	"io"

	"lampassay/bench/caution"
	"lampassay/bench/notebook"
)

// writeCautions says what to beware of with a lamp before its instruments are read.
// It goes beside the result: who pipes readings on still sees it.
func writeCautions(ctx context.Context, w io.Writer, nb notebook.Notebook, lamp notebook.ID) error {
	l, err := nb.Lamps().Get(ctx, lamp)
	if err != nil {
		return err
	}
	a := caution.Of(l)
	v := &view{w: w}
	v.wrapped("", "Before you switch on "+l.Name+", which is taken for this kind of lamp: "+a.Name+".", "")
	for _, c := range a.Cautions {
		v.wrapped("  ! ", c.What+". "+c.Why, "")
	}
	v.wrapped("", "Reminders, not training, and not complete: local electrical, waste and product-safety rules come first.", "")
	return v.err
}
