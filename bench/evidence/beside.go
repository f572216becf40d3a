package evidence

import (
	"context"
	"fmt"
	"math"

	"lampassay/bench/notebook"
)

// besideKind is a number that is measured beside a spectrum: the unit that it is
// computed in, and the range that it can have of a lamp. Beyond that, ratios such as
// the efficacy and its uncertainty would no longer be numbers.
type besideKind struct {
	key, name, unit string
	least, most     float64
}

var besideKinds = []besideKind{
	{Flux, "luminous flux", "lm", 1e-6, 1e9},
	{Power, "power", "W", 1e-6, 1e6},
	{PowerLamp, "power at the lamp", "W", 1e-6, 1e6},
}

// of returns the number of a reading in the kind's unit, or why it cannot be used, as
// a clause. has is false where the reading says nothing of it. A number that names no
// unit is in the kind's own.
func (k *besideKind) of(r *notebook.Reading) (x float64, why string, has bool) {
	for i := range r.Values {
		if r.Values[i].Key == k.key {
			x, why = k.usable(r.Values[i])
			has = true
		}
	}
	return x, why, has
}

func (k *besideKind) usable(v notebook.Value) (x float64, why string) {
	switch {
	case v.Flag != "":
		return 0, fmt.Sprintf("it is flagged “%s”", v.Flag)
	case v.V == nil:
		return 0, "it has no number"
	case v.Unit == "":
		v.Unit = k.unit
	}
	x, ok := v.In(k.unit)
	switch {
	case !ok:
		return 0, fmt.Sprintf("it is in “%s”, which cannot be brought to %s", v.Unit, k.unit)
	case x <= 0:
		return 0, fmt.Sprintf("it is %.6g %s, and only one above 0 %s can be used", x, k.unit, k.unit)
	case x < k.least || x > k.most || math.IsNaN(x):
		return 0, fmt.Sprintf("it is %.6g %s, and only one from %g to %g %s can be used", x, k.unit, k.least, k.most, k.unit)
	}
	return x, ""
}

// lastOf is what of a sitting a kind is taken from.
type lastOf struct {
	taken  *notebook.Reading // nil where none can be used
	x      float64
	passed int    // readings after it that cannot be used
	last   int64  // the last of these
	why    string // it cannot
}

// values names the latest flux and power that can be used, and says in clauses where
// that is not the latest.
func (c *chooser) values(ctx context.Context) (inputs []notebook.Input, said []string, err error) {
	found := make([]lastOf, len(besideKinds))
	for r, err := range c.nb.Readings(ctx, notebook.Readings{Sitting: c.sit.ID, NoCurves: true}) {
		if err != nil {
			return nil, nil, err
		}
		if c.sit.StruckOut(r.N) != "" {
			continue
		}
		for i := range besideKinds {
			switch x, why, has := besideKinds[i].of(r); {
			case !has:
			case why == "":
				found[i] = lastOf{taken: r, x: x}
			default:
				found[i].passed++
				found[i].last, found[i].why = r.N, why
			}
		}
	}
	for i, f := range found {
		k := &besideKinds[i]
		if f.taken != nil {
			inputs = append(inputs, notebook.Input{What: k.key, From: f.taken.N, To: f.taken.N, SHA256: f.taken.Chain})
		}
		said = append(said, k.said(&f)...)
	}
	return inputs, said, nil
}

// said are the clauses on what is taken and what is passed over.
func (k *besideKind) said(f *lastOf) (all []string) {
	switch {
	case f.passed == 0:
	case f.taken == nil:
		all = append(all, fmt.Sprintf("no reading of %s can be used, so this is computed without; of the last, reading %d: %s", k.name, f.last, f.why))
	case f.passed == 1:
		all = append(all, fmt.Sprintf("the %s is that of reading %d, %.6g %s; the later reading %d is passed over: %s", k.name, f.taken.N, f.x, k.unit, f.last, f.why))
	default:
		all = append(all, fmt.Sprintf("the %s is that of reading %d, %.6g %s; %d later ones are passed over, the last of them reading %d: %s", k.name, f.taken.N, f.x, k.unit, f.passed, f.last, f.why))
	}
	if f.taken == nil {
		return all
	}
	for _, v := range f.taken.Values {
		if v.Key == k.key && v.Unit == "" {
			return append(all, fmt.Sprintf("reading %d names no unit for its %s: it is taken to be in %s", f.taken.N, k.name, k.unit))
		}
	}
	return all
}
