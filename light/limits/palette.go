package limits

import (
	"fmt"
	"math"
	"sync"

	"lampassay/light/photometry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// column is one thing that light may be made of: a line or an emitter, of 1 W.
type column struct {
	centre, fwhm float64 // of a line, nm
	emitter      int     // index, or −1
	cost         float64 // electrical watts for one radiant watt
	p            *projection
}

func lineColumn(centre, fwhm float64) column {
	return column{centre: centre, fwhm: fwhm, emitter: -1, cost: 1, p: lineProjection(centre, fwhm)}
}

// columns lists what conditions allow: lines throughout the bands, or the
// emitters. Those marked coarse are where the search begins: lines a nanometre
// apart, two where they are wide, and the ends of bands.
func (c *Conditions) columns() (all []column, coarse []int, err error) {
	for _, b := range c.Bands {
		steps := b.stepsPerNm()
		first := math.Ceil(b.From)
		if b.From < first {
			coarse, all = append(coarse, len(all)), append(all, lineColumn(b.From, b.FWHM))
		}
		for i := 0; first+float64(i)/float64(steps) <= b.To; i++ {
			if i%(steps*b.coarseNm()) == 0 {
				coarse = append(coarse, len(all))
			}
			all = append(all, lineColumn(first+float64(i)/float64(steps), b.FWHM))
		}
		if len(all) == 0 || all[len(all)-1].centre != b.To {
			all = append(all, lineColumn(b.To, b.FWHM))
		}
		if last := len(all) - 1; coarse[len(coarse)-1] != last {
			coarse = append(coarse, last)
		}
	}
	for i, e := range c.Emitters {
		s, err := e.Spectrum.Project(spectrum.Sampled)
		if err != nil {
			return nil, nil, fmt.Errorf("limits: the emitter %q: %w", e.Name, err)
		}
		if !(s.Total > 0) {
			return nil, nil, fmt.Errorf("limits: the emitter %q gives no radiation", e.Name)
		}
		coarse = append(coarse, len(all))
		all = append(all, column{emitter: i, cost: 1 / e.Efficiency, p: emitterProjection(s)})
	}
	return all, coarse, nil
}

// stepsPerNm is how densely the lines of a band may stand. Between whole
// nanometres the tables are straight, so that an ideal line there is no better
// than its two neighbours; a wide line hardly moves within a nanometre.
func (b Band) stepsPerNm() int {
	switch {
	case b.FWHM == 0 || b.FWHM > 20:
		return 1
	case b.FWHM > 10:
		return 4
	}
	return 10
}

func (b Band) coarseNm() int {
	if b.FWHM >= 4 {
		return 2
	}
	return 1
}

// palette is a set of columns with all that is linear in their amounts. It does
// not change once made, but that the samples' tables are made when first asked
// for.
type palette struct {
	columns []column
	cost    []float64
	xyz     [3][]float64
	sp, mel []float64 // what a watt adds to S/P and to melanopic DER of a light with Y = 1
	cri     func() *table
	ces     func() *table
}

func newPalette(columns []column) *palette {
	n := len(columns)
	q := &palette{columns: columns, cost: make([]float64, n), sp: make([]float64, n), mel: make([]float64, n)}
	o := standards.CIE1931()
	for c, w := range []*spectrum.Weighting{o.X, o.Y, o.Z} {
		q.xyz[c] = make([]float64, n)
		for j := range columns {
			q.xyz[c][j] = columns[j].p.of(w)
		}
	}
	melanopic, daylight := photometry.Melanopic.Weighting(), photometry.Km*photometry.ELRDaylight(photometry.Melanopic)
	for j := range columns {
		q.cost[j] = columns[j].cost
		q.sp[j] = photometry.KmPrime / photometry.Km * columns[j].p.of(standards.VPrime())
		q.mel[j] = columns[j].p.of(melanopic) / daylight
	}
	q.cri = sync.OnceValue(func() *table { return newTable(columns, criSeen()) })
	q.ces = sync.OnceValue(func() *table { return newTable(columns, cesSeen()) })
	return q
}

// pick returns the palette of some of the columns.
func (q *palette) pick(index []int) *palette {
	choose := func(from []float64) []float64 {
		out := make([]float64, len(index))
		for i, j := range index {
			out[i] = from[j]
		}
		return out
	}
	out := &palette{columns: make([]column, len(index)), cost: choose(q.cost), sp: choose(q.sp), mel: choose(q.mel)}
	for i, j := range index {
		out.columns[i] = q.columns[j]
	}
	for c := range q.xyz {
		out.xyz[c] = choose(q.xyz[c])
	}
	part := func(whole func() *table) func() *table {
		return sync.OnceValue(func() *table {
			w := whole()
			t := &table{n: len(index), count: w.count}
			for r := range 3 * (w.count + 1) {
				t.rows = append(t.rows, choose(w.row(r))...)
			}
			return t
		})
	}
	out.cri, out.ces = part(q.cri), part(q.ces)
	return out
}

// table holds the tristimulus values that a watt of each column gives to each
// sample and, last, to the perfect diffuser: three rows a sample, one entry a
// column. The sums run over the samples' own range, as the methods' do.
type table struct {
	n     int // columns
	count int // samples, the diffuser aside
	rows  []float64
}

func (t *table) row(r int) []float64 { return t.rows[r*t.n:][:t.n] }

func newTable(columns []column, seen []*spectrum.Weighting) *table {
	t := &table{n: len(columns), count: len(seen)/3 - 1, rows: make([]float64, len(seen)*len(columns))}
	for r, w := range seen {
		row := t.row(r)
		for k := range columns {
			row[k] = columns[k].p.of(w)
		}
	}
	return t
}

// criSeen and cesSeen are the samples of CIE 13.3 and of CIE 224 as their
// observers see them: each sample's radiance factor times x̄, ȳ and z̄ and, last,
// the perfect diffuser's.
var (
	criSeen = sync.OnceValue(func() []*spectrum.Weighting {
		return seen(standards.TCS(), criSamples, standards.CIE1931())
	})
	cesSeen = sync.OnceValue(func() []*spectrum.Weighting {
		return seen(standards.CES(), rendition.CESCount, standards.CIE1964())
	})
)

func seen(s *standards.Samples, count int, o *standards.Observer) []*spectrum.Weighting {
	var all []*spectrum.Weighting
	for j := 0; j <= count; j++ {
		for _, w := range []*spectrum.Weighting{o.X, o.Y, o.Z} {
			all = append(all, reflected(s, j, count, w))
		}
	}
	return all
}

// reflected is a sample's radiance factor, straight between its entries, times
// a function of the observer; sample number count is the perfect diffuser.
func reflected(s *standards.Samples, j, count int, w *spectrum.Weighting) *spectrum.Weighting {
	last := s.First + s.Step*(len(s.R[0])-1)
	out := &spectrum.Weighting{First: s.First, W: make([]float64, last-s.First+1)}
	for i := range out.W {
		r := 1.0
		if j < count {
			k, part := i/s.Step, float64(i%s.Step)/float64(s.Step)
			r = s.R[j][k]
			if part > 0 {
				r += part * (s.R[j][k+1] - r)
			}
		}
		out.W[i] = r * w.At(float64(s.First+i))
	}
	return out
}
