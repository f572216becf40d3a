package comparison

import (
	"fmt"
	"math/bits"
	"slices"
)

// MostLamps is how many lamps can be ranked at once: the number of groups can
// grow as 3^(n/3).
const MostLamps = 40

// Ranking is lamps in groups.
type Ranking struct {
	Places   []Place // by falling value
	Unranked []int   // figures without a rank, in the order given
	// Groups are the largest sets of lamps of which no two can be told apart,
	// best first, each by falling value, as places in Places.
	Groups [][]int
	Pairs  []Pair // every pair once, A above B, as places in the list of figures
	// Chain is a case of what is not passed on: three places of which the outer
	// two are told apart and neither from the middle one. Nil where groups do not
	// overlap.
	Chain []int
}

// Place is one lamp of a ranking.
type Place struct {
	Figure  int    // in the list given
	Letters string // one for each group it belongs to
	// Alone is the lamp's value by itself, with its coverage interval.
	Alone Interval
	// Best and Worst are the ranks it may have: 1 more than the number of lamps
	// that are told to be above it, and as many as are not told to be below.
	Best, Worst int
}

// Rank compares every lamp with every other.
func Rank(figures []Figure, o Options) (*Ranking, error) {
	r := &Ranking{}
	var ranked []Figure
	var order []int
	for i, f := range figures {
		if slices.ContainsFunc(figures[:i], func(g Figure) bool { return g.Lamp == f.Lamp }) {
			return nil, fmt.Errorf("comparison: two lamps are called %q: name them apart", f.Lamp)
		}
		if f.Unranked != "" {
			r.Unranked = append(r.Unranked, i)
			continue
		}
		ranked, order = append(ranked, f), append(order, i)
	}
	n := len(ranked)
	if n > MostLamps {
		return nil, fmt.Errorf("comparison: %d lamps at once: rank at most %d", n, MostLamps)
	}
	if n == 0 {
		return r, nil
	}
	f, err := newField(ranked, o)
	if err != nil {
		return nil, err
	}
	fall := make([]int, n)
	for i := range fall {
		fall[i] = i
	}
	slices.SortStableFunc(fall, func(a, b int) int {
		switch {
		case ranked[a].Value > ranked[b].Value:
			return -1
		case ranked[a].Value < ranked[b].Value:
			return 1
		}
		return 0
	})

	alike := make([]uint64, n) // bit k of alike[i]: places i and k can't be told apart
	for i := range n {
		r.Places = append(r.Places, Place{Figure: order[fall[i]], Alone: f.alone(fall[i]), Best: 1, Worst: n})
	}
	for i := range n {
		for k := i + 1; k < n; k++ {
			p := f.pair(fall[i], fall[k])
			p.A, p.B = order[p.A], order[p.B]
			r.Pairs = append(r.Pairs, p)
			if p.Apart {
				r.Places[k].Best++
				r.Places[i].Worst--
				continue
			}
			alike[i] |= 1 << k
			alike[k] |= 1 << i
		}
	}
	r.Groups = cliques(alike)
	for g, group := range r.Groups {
		for _, i := range group {
			r.Places[i].Letters += Letter(g)
		}
	}
	r.Chain = chain(alike)
	return r, nil
}

// Letter names a group: a to z, then a2 to z2 and so on.
func Letter(group int) string {
	s := string(rune('a' + group%26))
	if group >= 26 {
		s += fmt.Sprint(group/26 + 1)
	}
	return s
}

// cliques returns the maximal sets of places all alike, by C. Bron and J.
// Kerbosch, Commun. ACM 16 (1973) 575–577, with the pivot of E. Tomita, A.
// Tanaka and H. Takahashi (2006): the letters of a compact display (H.-P.
// Piepho, J. Comput. Graph. Stat. 13 (2004) 456–466).
func cliques(alike []uint64) [][]int {
	var found []uint64
	var extend func(have, may, not uint64)
	extend = func(have, may, not uint64) {
		if may|not == 0 {
			found = append(found, have)
			return
		}
		pivot, most := 0, -1
		for s := may | not; s != 0; s &= s - 1 {
			i := bits.TrailingZeros64(s)
			if c := bits.OnesCount64(may & alike[i]); c > most {
				pivot, most = i, c
			}
		}
		for s := may &^ alike[pivot]; s != 0; s &= s - 1 {
			i := bits.TrailingZeros64(s)
			extend(have|1<<i, may&alike[i], not&alike[i])
			may &^= 1 << i
			not |= 1 << i
		}
	}
	if n := len(alike); n > 0 {
		extend(0, 1<<n-1, 0)
	}
	groups := make([][]int, len(found))
	for g, set := range found {
		for ; set != 0; set &= set - 1 {
			groups[g] = append(groups[g], bits.TrailingZeros64(set))
		}
	}
	slices.SortFunc(groups, slices.Compare)
	return groups
}

// chain looks for three places x, y, z with x and z told apart, y from neither.
func chain(alike []uint64) []int {
	for y := range alike {
		for x := range alike {
			far := alike[y] &^ alike[x] &^ (1 << x) >> x << x // alike to y, told from x, below it
			if alike[y]>>x&1 == 1 && far != 0 {
				return []int{x, y, bits.TrailingZeros64(far)}
			}
		}
	}
	return nil
}
