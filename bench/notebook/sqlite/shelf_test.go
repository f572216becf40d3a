package sqlite

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// shelf makes lamps with two assays each.
func shelf(tb testing.TB, s *Store, lamps int) {
	tb.Helper()
	ctx := tb.Context()
	strip := make([]float64, 81)
	record := `{"quantities":{` + strings.Repeat(`"x":{"value":1.25,"unit":"lm/W","u":0.5,"source":"CIE 15:2018","why":""},`, 150) + `"cct":{}}}`
	for i := range lamps {
		l, err := s.Lamps().Add(ctx, notebook.Lamp{Name: fmt.Sprintf("lamp %04d", (i*7919)%lamps), Technology: []string{"LED", "fluorescent", "sodium"}[i%3], Notes: strings.Repeat("An invented lamp. ", 20)})
		if err != nil {
			tb.Fatal(err)
		}
		sit(tb, s, l.ID)
		for k := range 2 {
			_, err := s.Assays().Add(ctx, notebook.Assay{
				Lamp: l.ID, Made: time.Date(2026, 11, 25, 9, i%60, k, 0, time.UTC), Program: "test", Inputs: []notebook.Input{{What: "file", SHA256: notebook.SumOf([]byte{1})}},
				Figures: map[string]float64{"cct": 2000 + float64((i*31)%lamps) + float64(k)/2, "ra": 80, "luminous_flux": 800}, Strip: strip, Record: []byte(record),
			})
			if err != nil {
				tb.Fatal(err)
			}
		}
	}
}

func TestTheShelfIsFilteredSortedAndPaged(t *testing.T) {
	s := fresh(t)
	shelf(t, s, 12)
	ctx := t.Context()
	names := func(q notebook.Query) (all []string) {
		t.Helper()
		list, err := s.Shelf(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range list.Items {
			if l.Made.IsZero() || l.Figures["cct"] == 0 || len(l.Strip) != 81 || l.Sittings != 1 {
				t.Errorf("%s is shown as %+v", l.Name, l)
			}
			all = append(all, l.Name)
		}
		return all
	}
	if got := names(notebook.Query{Sort: "name", Limit: 3, Offset: 1}); !slices.Equal(got, []string{"lamp 0001", "lamp 0002", "lamp 0003"}) {
		t.Errorf("the second to fourth by name are %v", got)
	}
	byColour, err := s.Shelf(ctx, notebook.Query{Sort: "cct", Descending: true, Technology: "sodium"})
	if err != nil {
		t.Fatal(err)
	}
	if byColour.Total != 4 || len(byColour.Items) != 4 {
		t.Errorf("%d of %d sodium lamps are listed, want 4", len(byColour.Items), byColour.Total)
	}
	for i, l := range byColour.Items {
		if l.Figures["cct"] != float64(int(l.Figures["cct"]))+.5 {
			t.Errorf("%s is shown with %v, which is not of its latest assay", l.Name, l.Figures)
		}
		if i > 0 && l.Figures["cct"] > byColour.Items[i-1].Figures["cct"] {
			t.Error("the shelf is not sorted by colour temperature")
		}
	}
	// The assay that was chosen goes before the latest, a trashed one is not shown.
	l, err := s.Lamps().Get(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	l.PrimaryAssay = 1
	if _, err := s.Lamps().Update(ctx, *l); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: 4}); err != nil {
		t.Fatal(err)
	}
	list, err := s.Shelf(ctx, notebook.Query{Limit: 2})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := list.Items[0].Assay, list.Items[1].Assay; a != 1 || b != 3 {
		t.Errorf("the first two lamps are shown with the assays %d and %d, want 1 and 3", a, b)
	}
	if _, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindAssay, ID: 1}); err != nil {
		t.Fatal(err)
	}
	if list, err := s.Shelf(ctx, notebook.Query{Limit: 1}); err != nil || list.Items[0].Assay != 2 {
		t.Errorf("with the chosen assay in the trash the first lamp is shown with assay %d, want 2 (%v)", list.Items[0].Assay, err)
	}
	// Words are looked for in what was written, not in how it is kept.
	for text, want := range map[string]int{"invented SODIUM": 4, "notes": 0, "100%": 0, "lamp_0001": 0, "0001": 1} {
		if list, err := s.Lamps().List(ctx, notebook.Query{Text: text}); err != nil || list.Total != want {
			t.Errorf("%q finds %d lamps, want %d (%v)", text, list.Total, want, err)
		}
	}
	_, err = s.Shelf(ctx, notebook.Query{Sort: "cct' OR 1"})
	wantCode(t, err, notebook.Invalid, "cannot be sorted")
	_, err = s.Instruments().List(ctx, notebook.Query{Lamp: 1})
	wantCode(t, err, notebook.Invalid, "no lamp to choose by")
	if list, err := s.Assays().List(ctx, notebook.Query{Lamp: 2, Trashed: true}); err != nil || list.Total != 1 {
		t.Errorf("%d assays of lamp 2 are in the trash, want 1 (%v)", list.Total, err)
	}
}
