package notebook

import (
	"slices"
	"testing"
	"time"
)

func TestTwoStatesOfARecordDifferInWords(t *testing.T) {
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	day := Day{Time: at}
	hours, metres := 100.0, 0.5
	door := Attachment{Name: "door.png", Media: "image/png", Size: 3}
	sitting := func(change func(*Sitting)) *Sitting {
		s := &Sitting{Lamp: 1, Started: at, Checklist: []Step{{Text: "Look at the cautions"}, {Text: "Dark taken", Done: &at}}, Struck: []Strike{{4, 4, "door"}}}
		change(s)
		return s
	}
	lamp := func(change func(*Lamp)) *Lamp {
		l := &Lamp{Name: "Kitchen tube", History: []Event{{On: day, Text: "bought"}}}
		change(l)
		return l
	}
	same := func(*Sitting) {}
	for name, c := range map[string]struct {
		before, after Record
		want          []string
	}{
		"nothing":        {sitting(same), sitting(same), nil},
		"a tick":         {sitting(same), sitting(func(s *Sitting) { s.Checklist[0].Done = &at }), []string{"“Look at the cautions” was ticked"}},
		"a tick less":    {sitting(same), sitting(func(s *Sitting) { s.Checklist[1].Done = nil }), []string{"“Dark taken” is no longer ticked"}},
		"a strike":       {sitting(same), sitting(func(s *Sitting) { s.Struck = append(s.Struck, Strike{7, 9, "cable"}) }), []string{"readings 7 to 9 set aside: cable"}},
		"a strike less":  {sitting(same), sitting(func(s *Sitting) { s.Struck = nil }), []string{"reading 4 no longer set aside"}},
		"an end":         {sitting(same), sitting(func(s *Sitting) { s.Ended = &at }), []string{"it ended"}},
		"a continuation": {sitting(func(s *Sitting) { s.Ended = &at }), sitting(same), []string{"it goes on"}},
		"a set-up":       {sitting(same), sitting(func(s *Sitting) { s.SetUp.DistanceM, s.SetUp.Geometry = &metres, "sphere" }), []string{"set-up: geometry, distance"}},
		"a rule":         {sitting(same), sitting(func(s *Sitting) { s.Rule = &Rule{Name: "LM-79-24"} }), []string{"judged by LM-79-24"}},
		"own numbers":    {sitting(same), sitting(func(s *Sitting) { s.Rule = &Rule{BegunFrom: "LM-79-24"} }), []string{"judged by numbers of one's own, begun from LM-79-24"}},
		"other words":    {sitting(same), sitting(func(s *Sitting) { s.Title, s.Notes = "Cold start", "hums" }), []string{"title", "notes"}},
		"a history":      {lamp(func(*Lamp) {}), lamp(func(l *Lamp) { l.History[0].Text, l.BurnedHours = "given", &hours }), []string{"the entry of 25\u00a0Nov\u00a02026, “given”, was added", "the entry of 25\u00a0Nov\u00a02026, “bought”, was taken out", "hours burned"}},
		"a picture":      {lamp(func(*Lamp) {}), lamp(func(l *Lamp) { l.Photos = []Attachment{door} }), []string{"the picture door.png was added"}},
		"one of two":     {lamp(func(l *Lamp) { l.Photos = []Attachment{door, door} }), lamp(func(l *Lamp) { l.Photos = []Attachment{door} }), []string{"the picture door.png was taken out"}},
		"a calibration":  {&Instrument{Name: "Meter"}, &Instrument{Name: "Meter", Calibrations: []Calibration{{What: "scale", Made: day}}}, []string{"the calibration of the scale, 25\u00a0Nov\u00a02026, was added"}},
		"a new name":     {&Comparison{Title: "Tubes"}, &Comparison{Title: "Old tubes"}, []string{"title"}},
		"two kinds":      {&Comparison{}, &Lamp{}, nil},
		"no state":       {nil, &Lamp{}, nil},
	} {
		if got := Differences(c.before, c.after); !slices.Equal(got, c.want) {
			t.Errorf("%s: they differ in %q, want %q", name, got, c.want)
		}
	}
}

func TestEveryFieldThatDiffersIsNamed(t *testing.T) {
	before, after := &Lamp{Name: "A"}, &Lamp{Name: "B", Maker: "C", Model: "D", Piece: "E", Technology: "F", Gear: "G", Base: "H", Notes: "I", Tags: []string{"J"}, PrimaryAssay: 1}
	want := []string{"name", "maker", "model", "piece", "technology", "gear", "base", "notes", "tags", "the assay that the shelf shows"}
	if got := Differences(before, after); !slices.Equal(got, want) {
		t.Errorf("they differ in %q, want %q", got, want)
	}
}
