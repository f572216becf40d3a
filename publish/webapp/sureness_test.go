package webapp

import (
	"strings"
	"testing"

	"lampassay/bench/tidewater"
)

func TestTheShelfAndTheLampRoundAsTheSheetDoes(t *testing.T) {
	b := newBench(t)
	id := b.importLamp(tidewater.Lamps()[0])
	a, err := b.nb.Assays().Get(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	done, err := b.server.assayedOf(t.Context(), a)
	if err != nil {
		t.Fatal(err)
	}
	shelf, lamp := b.page("/"), b.page(lampPath(a.Lamp))
	cells := cellsOf(a.Figures, surenessIn(a.Record), shelfFigures)
	for i, q := range shelfFigures {
		reading := done.Result.Reading(q)
		if cells[i].None {
			continue
		}
		if cells[i].Text != reading.Value {
			t.Errorf("quantity %d: the list has %s, the sheet %s", q, cells[i].Text, reading.Value)
		}
		for name, page := range map[string]string{"shelf": shelf, "lamp": lamp} {
			if !strings.Contains(page, ">"+reading.Value+"<") {
				t.Errorf("the page of the %s does not say %s", name, reading.Value)
			}
		}
	}
	for name, record := range map[string]string{"empty": "{}", "none": "", "another shape": `{"quantities":[1]}`} {
		if got := surenessIn([]byte(record)); len(got) > 0 {
			t.Errorf("%s: of no record %v is known", name, got)
		}
	}
}
