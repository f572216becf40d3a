package webapp

import (
	"fmt"
	"strings"
	"testing"

	"lampassay/bench/notebook"
)

func TestBeyondTheEndOfTheShelfItsLastPageStands(t *testing.T) {
	b := newBench(t)
	want(t, b.page("/?from=999999"), "No lamp stands here yet")
	for i := range perPage + 2 {
		if _, err := b.nb.Lamps().Add(t.Context(), notebook.Lamp{Name: fmt.Sprintf("Lamp %03d", i+1)}); err != nil {
			t.Fatal(err)
		}
	}
	for _, from := range []string{"999999", fmt.Sprint(perPage + 2), fmt.Sprint(perPage)} {
		page := b.page("/?from=" + from)
		want(t, page, "Lamp 051", "Lamp 052", "51–52 of 52 lamps", "Earlier")
		if strings.Contains(textOf(page), "Lamp 050") {
			t.Errorf("from %s on it begins with another lamp", from)
		}
	}
	want(t, b.page("/?from=999999&text=Lamp+007"), "Lamp 007", "1–1 of 1 lamp")
	want(t, b.page("/?from=999999&text=nothing"), "No lamp has all of that.")
}
