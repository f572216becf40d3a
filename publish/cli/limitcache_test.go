package cli

import (
	"math"
	"os"
	"testing"

	"lampassay/light/limits"
)

func TestTheLimitCacheKeepsAnswersWholeOrNotAtAll(t *testing.T) {
	c := limitCache{t.TempDir() + "/made/when/needed"}
	if _, ok := c.Load("k"); ok {
		t.Error("an empty cache has an answer")
	}
	want := limits.Answer{Efficacy: 400, CCT: math.NaN(), Mixture: []limits.Part{{Centre: 555, Emitter: -1, Power: 1}}}
	c.Save("k", want)
	got, ok := c.Load("k")
	if !ok || got.Efficacy != 400 || !math.IsNaN(got.CCT) || len(got.Mixture) != 1 || got.Mixture[0] != want.Mixture[0] {
		t.Errorf("%v, %+v", ok, got)
	}
	if err := os.Truncate(c.file("k"), 20); err != nil {
		t.Fatal(err)
	}
	if _, ok := c.Load("k"); ok {
		t.Error("a damaged file is an answer")
	}
	limitCache{"/dev/null/nowhere"}.Save("k", want) // no folder, no word
}
