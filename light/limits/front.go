package limits

import (
	"context"
	"errors"
	"runtime"
	"sync"
)

// Point is one answer of a front or a map. Err is the [*Unreachable] where its
// conditions cannot be met, or [ErrUnsettled]; Optimum is then empty.
type Point struct {
	CCT     float64 // K
	Demand  Demand
	Optimum Optimum
	Err     error
}

// Front returns the best light for each of the values as a floor of the measure,
// which takes the place of any floor for it among the conditions: what
// faithfulness costs at a colour.
func (s *Solver) Front(ctx context.Context, c Conditions, m Measure, values []float64) ([]Point, error) {
	points := make([]Point, len(values))
	for i, v := range values {
		points[i] = Point{CCT: c.Colour.CCT.From, Demand: AtLeast(m, v)}
	}
	return points, s.fill(ctx, c, points)
}

// Map returns the best light for each temperature in K and each value as a floor
// of the measure, temperature by temperature. Duv is that of the conditions.
func (s *Solver) Map(ctx context.Context, c Conditions, kelvin []float64, m Measure, values []float64) ([]Point, error) {
	points := make([]Point, 0, len(kelvin)*len(values))
	for _, t := range kelvin {
		for _, v := range values {
			points = append(points, Point{CCT: t, Demand: AtLeast(m, v)})
		}
	}
	return points, s.fill(ctx, c, points)
}

// fill solves the points side by side. What one cannot reach is kept with it;
// any other error ends all.
func (s *Solver) fill(ctx context.Context, c Conditions, points []Point) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	next := make(chan *Point)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(points)) {
		workers.Go(func() {
			for p := range next {
				var unreachable *Unreachable
				p.Optimum, p.Err = s.Solve(ctx, c.with(p))
				if p.Err != nil && !errors.As(p.Err, &unreachable) && !errors.Is(p.Err, ErrUnsettled) {
					cancel(p.Err)
				}
			}
		})
	}
	for i := range points {
		next <- &points[i]
	}
	close(next)
	workers.Wait()
	return context.Cause(ctx)
}

// with returns the conditions of a point.
func (c Conditions) with(p *Point) Conditions {
	if p.CCT > 0 && c.Colour.CCT.From == c.Colour.CCT.To {
		c.Colour.CCT = Span{p.CCT, p.CCT}
	}
	demands := []Demand{p.Demand}
	for _, d := range c.Demands {
		if d.Measure != p.Demand.Measure || d.Most {
			demands = append(demands, d)
		}
	}
	c.Demands = demands
	return c
}
