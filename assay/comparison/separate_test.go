package comparison

import (
	"slices"
	"testing"
)

func TestGroupsThatOverlapAreNamedWithACaseOfIt(t *testing.T) {
	// Ends 2 × 8 % apart, each with u = 4 %: k·√2·u = 11 %.
	names := []string{"C", "A", "lone", "B"}
	r, err := Rank([]Figure{figure("C", 84, 0, 0.04), figure("A", 100, 0, 0.04), figure("lone", 1000, 0, 0.04), figure("B", 92, 0, 0.04)}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := r.Alike(names, false), []string{"A and B", "B and C"}; !slices.Equal(got, want) {
		t.Errorf("alike are %q, want %q", got, want)
	}
	if got, want := r.Alike(names, true), []string{"b: A and B", "c: B and C"}; !slices.Equal(got, want) {
		t.Errorf("alike are %q, want %q", got, want)
	}
	if got, want := r.NotPassedOn(names), "Not passed on: A can't be told from B, nor B from C, and yet A and C are apart. So the groups overlap."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestGroupsThatDoNotOverlapHaveNoCaseOfIt(t *testing.T) {
	names := []string{"A", "B", "C"}
	r, err := Rank([]Figure{figure("A", 100, 0, 0.04), figure("B", 101, 0, 0.04), figure("C", 102, 0, 0.04)}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := r.Alike(names, false), []string{"C, B and A"}; !slices.Equal(got, want) {
		t.Errorf("alike are %q, want %q", got, want)
	}
	if got := r.NotPassedOn(names); got != "" {
		t.Errorf("%q of groups that don't overlap", got)
	}
}
