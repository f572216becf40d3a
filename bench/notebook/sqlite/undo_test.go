package sqlite

import (
	"slices"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

// TestThePastOfTheFeedIsFoundAcrossGaps records in a sitting until its one change
// for readings has moved far from the changes that came before it.
func TestThePastOfTheFeedIsFoundAcrossGaps(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	v := sit(t, s, tube(t, s).ID)
	for k := range 300 {
		if _, err := s.Append(ctx, v.ID, []notebook.Reading{watts(float64(k))}); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		before int64
		limit  int
		want   []int64
	}{
		{1 << 62, 0, []int64{302, 2, 1}},
		{1 << 62, 2, []int64{302, 2}},
		{302, 5, []int64{2, 1}},
		{1, 5, nil},
	} {
		changes, err := s.ChangesBefore(ctx, c.before, c.limit)
		if err != nil {
			t.Fatal(err)
		}
		var got []int64
		for _, one := range changes {
			got = append(got, one.Seq)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("the %d changes before %d are %v, want %v", c.limit, c.before, got, c.want)
		}
	}
}

func TestAChangeHasTheStatesBeforeAndAfterIt(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	lamp := tube(t, s)
	added := lamp.Revision
	lamp.Notes = "hums"
	lamp, err := s.Lamps().Update(ctx, *lamp)
	if err != nil {
		t.Fatal(err)
	}
	before, after, err := s.States(ctx, lamp.Revision)
	if err != nil || before.(*notebook.Lamp).Notes != "" || after.(*notebook.Lamp).Notes != "hums" {
		t.Errorf("the lamp was %v and is %v (%v)", before, after, err)
	}
	if before, after, err := s.States(ctx, added); err != nil || before != nil || after.(*notebook.Lamp).Name != "Kitchen tube" {
		t.Errorf("the new lamp was %v and is %v (%v)", before, after, err)
	}
	away, err := s.Trash(ctx, notebook.Ref{Kind: notebook.KindLamp, ID: lamp.ID})
	if err != nil {
		t.Fatal(err)
	}
	if before, after, err := s.States(ctx, away); err != nil || before != nil || after != nil {
		t.Errorf("into the trash: it was %v and is %v (%v)", before, after, err)
	}
	_, _, err = s.States(ctx, 999)
	wantCode(t, err, notebook.NotFound, "no change 999")
}

// made is a lamp with a sitting and its assay, as an import makes them.
func made(t *testing.T, s *Store) (assay *notebook.Assay, group []int64) {
	t.Helper()
	lamp := tube(t, s)
	v := sit(t, s, lamp.ID)
	if _, err := s.Append(t.Context(), v.ID, []notebook.Reading{watts(0)}); err != nil {
		t.Fatal(err)
	}
	assay, err := s.Assays().Add(t.Context(), notebook.Assay{
		Lamp: lamp.ID, Sitting: v.ID, Made: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC),
		Inputs: []notebook.Input{{What: "readings", To: 1, SHA256: notebook.SumOf(nil)}}, Record: []byte("{}"),
	})
	if err != nil {
		t.Fatal(err)
	}
	return assay, []int64{assay.Revision, v.Revision, lamp.Revision}
}

func TestWhatWasMadeAsOneIsTakenBackAsOne(t *testing.T) {
	s := fresh(t)
	ctx := t.Context()
	_, group := made(t, s)
	inUse := func() int {
		lamps, err := s.Lamps().List(ctx, notebook.Query{})
		if err != nil {
			t.Fatal(err)
		}
		sittings, err := s.Sittings().List(ctx, notebook.Query{})
		if err != nil {
			t.Fatal(err)
		}
		assays, err := s.Assays().List(ctx, notebook.Query{})
		if err != nil {
			t.Fatal(err)
		}
		return lamps.Total + sittings.Total + assays.Total
	}
	did, err := s.UndoAll(ctx, group)
	if err != nil || len(did) != 3 || inUse() != 0 {
		t.Fatalf("%d changes took it back, %d records are in use (%v)", len(did), inUse(), err)
	}
	again := []int64{did[2].Seq, did[1].Seq, did[0].Seq}
	if did, err = s.UndoAll(ctx, again); err != nil || inUse() != 3 || did[0].Action != notebook.Restored {
		t.Fatalf("taking that back leaves %d records in use (%v)", inUse(), err)
	}
	wantClean(t, s)
}

func TestAComparisonThatWasPublishedIsNotTakenBackAsOneOfSeveral(t *testing.T) {
	s := fresh(t)
	a, _ := made(t, s)
	c, err := s.Comparisons().Add(t.Context(), notebook.Comparison{Title: "Twice", Assays: []notebook.ID{a.ID, a.ID}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Publications().Add(t.Context(), notebook.Publication{Title: "Tubes", Made: a.Made, Assays: []notebook.ID{a.ID}, Comparisons: []notebook.ID{c.ID}}); err != nil {
		t.Fatal(err)
	}
	_, err = s.UndoAll(t.Context(), []int64{c.Revision})
	wantCode(t, err, notebook.Stale, "publication 1 is built on comparison 1")
}

func TestWhatSomethingIsBuiltOnIsNotTakenBackAlongWithOthers(t *testing.T) {
	for says, build := range map[string]func(*testing.T, *Store, *notebook.Assay) error{
		"lamp 1 was changed again since": func(t *testing.T, s *Store, a *notebook.Assay) error {
			l, err := s.Lamps().Get(t.Context(), a.Lamp)
			if err == nil {
				l.Notes = "hums"
				_, err = s.Lamps().Update(t.Context(), *l)
			}
			return err
		},
		"sitting 2 is built on lamp 1": func(t *testing.T, s *Store, a *notebook.Assay) error {
			sit(t, s, a.Lamp)
			return nil
		},
		"assay 2 is built on": func(t *testing.T, s *Store, a *notebook.Assay) error {
			_, err := s.Assays().Add(t.Context(), *a)
			return err
		},
		"comparison 1 is built on assay 1": func(t *testing.T, s *Store, a *notebook.Assay) error {
			_, err := s.Comparisons().Add(t.Context(), notebook.Comparison{Title: "Twice", Assays: []notebook.ID{a.ID, a.ID}})
			return err
		},
		"publication 1 is built on assay 1": func(t *testing.T, s *Store, a *notebook.Assay) error {
			_, err := s.Publications().Add(t.Context(), notebook.Publication{Title: "Tubes", Made: a.Made, Assays: []notebook.ID{a.ID}})
			return err
		},
		"readings that were recorded since": func(t *testing.T, s *Store, a *notebook.Assay) error {
			_, err := s.Append(t.Context(), a.Sitting, []notebook.Reading{watts(1)})
			return err
		},
	} {
		s := fresh(t)
		a, group := made(t, s)
		if err := build(t, s, a); err != nil {
			t.Fatal(err)
		}
		before, err := s.Watch(t.Context(), -1)
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.UndoAll(t.Context(), group)
		wantCode(t, err, notebook.Stale, says)
		if after, err := s.Watch(t.Context(), -1); err != nil || after != before {
			t.Errorf("%s: something was taken back all the same (%v)", says, err)
		}
	}
}

func TestAnErratumIsTakenBackByUndoAlone(t *testing.T) {
	ctx := t.Context()
	s := full(t)
	p, err := s.Publications().Get(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	had := len(p.Errata)
	p.Errata = append(p.Errata, notebook.Erratum{At: p.Made, Text: "the scale was another"})
	if p, err = s.Publications().Update(ctx, *p); err != nil {
		t.Fatal(err)
	}
	shorter := *p
	shorter.Errata = p.Errata[:had]
	if _, err := s.Publications().Update(ctx, shorter); notebook.CodeOf(err) != notebook.Kept {
		t.Errorf("an erratum left out is answered with %v", err)
	}
	did, err := s.Undo(ctx, p.Revision)
	if err != nil {
		t.Fatal(err)
	}
	if p, err = s.Publications().Get(ctx, 1); err != nil || len(p.Errata) != had {
		t.Errorf("after undoing there are %d errata (%v), want %d", len(p.Errata), err, had)
	}
	if _, err := s.Undo(ctx, did.Seq); err != nil {
		t.Fatal(err)
	}
	if p, err = s.Publications().Get(ctx, 1); err != nil || len(p.Errata) != had+1 {
		t.Errorf("after undoing that there are %d errata (%v), want %d", len(p.Errata), err, had+1)
	}
}
