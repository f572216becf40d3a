package webapp

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/light/limits"
	"lampassay/publish/figure"
)

// What the sliders of the limit page reach.
const (
	leastCCT, mostCCT, stepCCT = 2200, 8000, 100
	leastRa, mostRa            = 0, 98
)

// frontRa are the values of Ra at which the front is computed.
var frontRa = []float64{50, 60, 70, 80, 85, 90, 95}

type limitView struct {
	CCT, Ra          int
	Answer           *limitAnswer
	LeastCCT, MostCC int
	StepCCT          int
	LeastRa, MostRa  int
}

// limitAnswer is what physics allows for a colour and an Ra, drawn.
type limitAnswer struct {
	CCT, Ra  int
	Head     string // the answer in a sentence
	Price    string // what one more point of Ra costs
	Evidence string
	Light    drawnPicture
	Front    drawnPicture
	NoFront  string
	Problem  string // why there is no light of that kind
}

func limitAsked(ask url.Values) (cct, ra int) {
	number := func(name string, usual, least, most int) int {
		n, err := strconv.Atoi(ask.Get(name))
		if err != nil {
			return usual
		}
		return min(max(n, least), most)
	}
	cct = number("cct", 3000, leastCCT, mostCCT)
	return (cct + stepCCT/2) / stepCCT * stepCCT, number("ra", 80, leastRa, mostRa)
}

// limit is the page on how far light could go.
func (s *Server) limit(w http.ResponseWriter, r *http.Request) error {
	d := limitView{LeastCCT: leastCCT, MostCC: mostCCT, StepCCT: stepCCT, LeastRa: leastRa, MostRa: mostRa}
	d.CCT, d.Ra = limitAsked(r.URL.Query())
	var err error
	if d.Answer, err = s.limitOf(r.Context(), d.CCT, d.Ra); err != nil {
		return err
	}
	v := s.view(r, "How far light could go")
	v.Data, v.Scripts = &d, []string{staticPath("limit.js")}
	return s.show(w, "limit.html", v)
}

// limitAnswer is that part of the page which a slider changes.
func (s *Server) limitAnswer(w http.ResponseWriter, r *http.Request) error {
	cct, ra := limitAsked(r.URL.Query())
	a, err := s.limitOf(r.Context(), cct, ra)
	if err != nil {
		return err
	}
	v := s.view(r, "")
	v.Data = a
	return s.show(w, "limitanswer", v)
}

// limitOf answers and draws. The lamps of the shelf stand under the front, so an
// answer is good until the notebook changes.
func (s *Server) limitOf(ctx context.Context, cct, ra int) (*limitAnswer, error) {
	key := fmt.Sprintf("%d %d %d", cct, ra, s.latest(ctx))
	return s.answers.get(ctx, key, func(ctx context.Context) (*limitAnswer, error) {
		return s.solveLimit(ctx, cct, ra)
	})
}

func (s *Server) solveLimit(ctx context.Context, cct, ra int) (*limitAnswer, error) {
	a := &limitAnswer{CCT: cct, Ra: ra}
	c := limits.Conditions{Colour: limits.AtCCT(float64(cct), 0), Bands: []limits.Band{{From: 380, To: 780}}}
	asked := c
	if ra > 0 {
		asked.Demands = []limits.Demand{limits.AtLeast(limits.Ra, float64(ra))}
	}
	best, err := s.solver.Solve(ctx, asked)
	var unreachable *limits.Unreachable
	switch {
	case errors.As(err, &unreachable), errors.Is(err, limits.ErrUnsettled):
		a.Problem = sentence(err.Error())
	case err != nil:
		return nil, err
	default:
		if err := a.tell(&best); err != nil {
			return nil, err
		}
	}
	return a, s.drawFront(ctx, a, c)
}

// tell puts an answer into words and its light into a picture.
func (a *limitAnswer) tell(best *limits.Optimum) error {
	a.Head = fmt.Sprintf("%.0f lm/W: no light of %d K on the Planckian locus with Ra of at least %d gives more per watt of radiation.", best.Efficacy, a.CCT, a.Ra)
	if a.Ra == 0 {
		a.Head = fmt.Sprintf("%.0f lm/W: no light of %d K on the Planckian locus gives more per watt of radiation, whatever it does to colours.", best.Efficacy, a.CCT)
	}
	for _, b := range best.Binding {
		if b.Demand.Measure == limits.Ra {
			a.Price = fmt.Sprintf("One more point of Ra would cost about %.1f lm/W.", b.Price)
		}
	}
	if e := best.Evidence; e.Starts > 1 {
		a.Evidence = fmt.Sprintf("%d of %d independent searches ended there.", e.Agreed, e.Starts)
	}
	fig := figure.SpectralPower{
		Wavelengths: best.Spectrum.Axis(), Values: best.Spectrum.Values(),
		Title: fmt.Sprintf("The best light of %d K with Ra %d", a.CCT, a.Ra),
		Note:  "Computed: ideal lines at 380–780 nm. No lamp makes this light.",
	}
	if parts := best.Lines(); len(parts) <= 8 {
		for _, p := range parts {
			if p.Power > 0.01 {
				fig.Lines = append(fig.Lines, figure.LineMark{Wavelength: p.Centre, Label: fmt.Sprintf("%.0f", p.Centre)})
			}
		}
	}
	p, err := fig.Picture()
	if err != nil {
		return err
	}
	a.Light, err = drawn(p)
	return err
}

// drawFront shows what faithfulness costs at this colour, with the lamps of the
// shelf that are within a tenth of it.
func (s *Server) drawFront(ctx context.Context, a *limitAnswer, c limits.Conditions) error {
	points, err := s.solver.Front(ctx, c, limits.Ra, frontRa)
	if err != nil {
		return err
	}
	fig := figure.Limits{Quantity: "Ra", Curves: []figure.LimitCurve{{}}, Note: "Computed: ideal lines at 380–780 nm."}
	for _, p := range points {
		if p.Err == nil {
			fig.Curves[0].X, fig.Curves[0].Y = append(fig.Curves[0].X, p.Demand.Value), append(fig.Curves[0].Y, p.Optimum.Efficacy)
		}
	}
	if len(fig.Curves[0].X) < 2 {
		a.NoFront = fmt.Sprintf("At %d K no front can be drawn.", a.CCT)
		return nil
	}
	if fig.Lamps, err = s.lampsNear(ctx, float64(a.CCT)); err != nil {
		return err
	}
	if n := len(fig.Lamps); n > 0 {
		fig.Note += fmt.Sprintf(" Dots: %s of the shelf within a tenth of %d K, by the efficacy of their own radiation.", count(n, "lamp", "lamps"), a.CCT)
	}
	p, err := fig.Picture()
	if err != nil {
		return err
	}
	a.Front, err = drawn(p)
	return err
}

// mostOnFront bounds the lettering of the front.
const mostOnFront = 12

func (s *Server) lampsNear(ctx context.Context, cct float64) (all []figure.LimitLamp, err error) {
	shelf, err := s.nb.Shelf(ctx, notebook.Query{})
	if err != nil {
		return nil, err
	}
	for _, l := range shelf.Items {
		own, has := l.Figures[quantity.Get(quantity.CCT).Key]
		ra, hasRa := l.Figures[quantity.Get(quantity.Ra).Key]
		ler, hasLER := l.Figures[quantity.Get(quantity.LER).Key]
		if has && hasRa && hasLER && own > 0.9*cct && own < 1.1*cct && ra >= frontRa[0] && len(all) < mostOnFront {
			all = append(all, figure.LimitLamp{Name: l.Name, X: ra, Y: ler})
		}
	}
	return all, nil
}
