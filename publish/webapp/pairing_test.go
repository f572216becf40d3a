package webapp

import (
	"net/url"
	"reflect"
	"testing"
)

func TestThePairThatIsSaidLastCounts(t *testing.T) {
	for _, c := range []struct {
		name            string
		pair, as, wants []string
	}{
		{"nothing chosen", []string{"1:2"}, []string{"", ""}, []string{"1:2"}},
		{"another peak", []string{"1:2"}, []string{"3:4"}, []string{"1:2", "3:4"}},
		{"another line for the peak", []string{"1:2", "3:4"}, []string{"1:5"}, []string{"3:4", "1:5"}},
		{"another peak for the line", []string{"1:2", "3:4"}, []string{"5:2"}, []string{"3:4", "5:2"}},
		{"two peaks for one line", nil, []string{"1:2", "3:2"}, []string{"3:2"}},
		{"the same again", []string{"1:2"}, []string{"1:2"}, []string{"1:2"}},
	} {
		ask := url.Values{"pair": c.pair, "as": c.as, "lamp": {"neon"}}
		got := withChoices(ask)
		if !reflect.DeepEqual(got["pair"], c.wants) || got.Has("as") || got.Get("lamp") != "neon" {
			t.Errorf("%s: %v", c.name, got)
		}
		if !reflect.DeepEqual(ask["as"], c.as) {
			t.Errorf("%s: what was asked was changed", c.name)
		}
	}
}

// Whatever an address holds is a pair or is refused in a sentence, and what was
// chosen leaves no choice open.
func FuzzPairsOfAnAddress(f *testing.F) {
	for _, seed := range [][2]string{{"812.3:546.075", "347.5:576.961"}, {"", ":"}, {"1:2:3", "x:y"}, {"NaN:Inf", "1e999:1"}, {":", "-1:-1"}} {
		f.Add(seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, pair, as string) {
		next := withChoices(url.Values{"pair": {pair}, "as": {as}})
		if next.Has("as") || len(next["pair"]) > 2 {
			t.Errorf("%q, %q: %v", pair, as, next)
		}
		if again := withChoices(next); !reflect.DeepEqual(again, next) {
			t.Errorf("%q, %q: %v, then %v", pair, as, next, again)
		}
		pairs, err := givenPairs(next)
		if err == nil && len(pairs) != len(next["pair"]) {
			t.Errorf("%q, %q: %d of %d pairs are read", pair, as, len(pairs), len(next["pair"]))
		}
		if err != nil && err.Error() == "" {
			t.Errorf("%q, %q: refused without a word", pair, as)
		}
	})
}
