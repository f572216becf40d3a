package cli

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
)

// draw draws all lamps together and hangs the draws on their figures.
func (o *measuredOptions) draw(ctx context.Context, s streams, lamps []measuredLamp, ids []quantity.ID) error {
	var names []string
	var models []*uncertainty.Model
	for i := range lamps {
		l := &lamps[i]
		l.sitting.Quantities = ids // the same outputs of every lamp
		m, err := l.sitting.Model()
		if err != nil {
			return badInput("%s: %s", l.name, plainly(err))
		}
		names, models = append(names, fmt.Sprintf("%s (%d)", l.name, i+1)), append(models, m)
	}
	var shared []string
	if !o.separate {
		shared = comparison.Rig()
	}
	joint, err := comparison.Joint(names, models, shared)
	if err != nil {
		return spoken(err)
	}
	draws := cmp.Or(o.sure.draws, comparison.UsualDraws)
	wait := waiting{w: s.err, total: draws}
	defer wait.stop()
	sim, err := joint.MonteCarlo(ctx, uncertainty.Options{Seed: o.sure.seed, Draws: draws, Progress: wait.made})
	if err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return spoken(err)
	}
	for i := range lamps {
		for k, id := range ids {
			key := quantity.Get(id).Key
			f := lamps[i].figures[key]
			f.TakeDraws(sim, i*len(ids)+k)
			lamps[i].figures[key] = f
		}
	}
	return nil
}

// propagate gives the figures of every spectrum their causes by the law.
func (o *measuredOptions) propagate(ctx context.Context, lamps []measuredLamp) error {
	for i := range lamps {
		l := &lamps[i]
		if l.sitting == nil || len(l.sitting.Quantities) == 0 {
			continue
		}
		m, err := l.sitting.Model()
		if err != nil {
			return badInput("%s: %s", l.name, plainly(err))
		}
		laws, err := m.Propagate(ctx, uncertainty.Options{Seed: o.sure.seed})
		if err != nil {
			return badInput("%s: %s", l.name, plainly(err))
		}
		for k, id := range l.sitting.Quantities {
			key := quantity.Get(id).Key
			f := l.figures[key]
			f.TakeLaw(&laws[k], m.Inputs, !o.separate)
			l.figures[key] = f
		}
		l.correlations = append(l.correlations, l.sitting.Correlations...)
	}
	return nil
}

// state puts what --u says in place of what was worked out.
func (o *measuredOptions) state(lamps []measuredLamp) error {
	for _, s := range o.stated {
		key, text, ok := strings.Cut(s, "=")
		if !ok {
			return badInput("--u %q: write it as luminous_flux=4%% or power=0.1", s)
		}
		known := false
		for i := range lamps {
			f, has := lamps[i].figures[key]
			if !has {
				continue
			}
			known = true
			u, err := comparison.ParseU(text, f.Value)
			if err != nil {
				return badInput("--u %s: %s", key, plainly(err))
			}
			f.Causes, f.Draws = []comparison.Cause{{Name: comparison.Stated, U: u, Own: true}}, nil
			lamps[i].figures[key] = f
		}
		if !known {
			return badInput("--u %s: no figure %q takes part", key, key)
		}
	}
	return nil
}

// joined returns the correlations of all lamps, each once.
func joined(lamps []measuredLamp) []uncertainty.Correlation {
	var list []uncertainty.Correlation
	for _, l := range lamps {
		for _, c := range l.correlations {
			if !slices.Contains(list, c) {
				list = append(list, c)
			}
		}
	}
	return list
}

// basis says for which classes estimates stand in, "" where none does.
func (o *measuredOptions) basis(lamps []measuredLamp) string {
	var classes []string
	for _, l := range lamps {
		for _, class := range strings.Split(l.basis, "; ") {
			if class != "" && !slices.Contains(classes, class) {
				classes = append(classes, class)
			}
		}
	}
	if len(classes) == 0 {
		return ""
	}
	return "What no sitting file states is this project's estimate for: " + strings.Join(classes, "; ") + "."
}
