package notebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Differences says in clauses, lower case and without a stop, in what two states of
// a record differ: what was ticked, set aside, added and taken out, and of other
// fields their names. It says nothing of two states that are the same, or of
// different kinds.
func Differences(before, after Record) []string {
	if before == nil || after == nil || before.Kind() != after.Kind() {
		return nil
	}
	var d differences
	switch was := before.(type) {
	case *Sitting:
		d.sitting(was, after.(*Sitting))
	case *Lamp:
		is := after.(*Lamp)
		listed(&d, "history", was.History, is.History, func(e Event) string {
			return "the entry of " + e.On.Written() + ", “" + brief(e.Text) + "”,"
		})
		listed(&d, "photos", was.Photos, is.Photos, func(a Attachment) string { return "the picture " + brief(a.Name) })
	case *Instrument:
		listed(&d, "calibrations", was.Calibrations, after.(*Instrument).Calibrations, func(c Calibration) string {
			return "the calibration of the " + brief(c.What) + ", " + c.Made.Written() + ","
		})
	case *Reference:
		listed(&d, "files", was.Files, after.(*Reference).Files, nameOfFile)
	case *Publication:
		listed(&d, "errata", was.Errata, after.(*Publication).Errata, func(e Erratum) string { return "the erratum “" + brief(e.Text) + "”" })
	}
	return append(d.clauses, d.others(before, after)...)
}

// differences gathers clauses, and which fields of the JSON they account for.
type differences struct {
	clauses []string
	told    []string
}

func (d *differences) say(field, format string, args ...any) {
	d.clauses = append(d.clauses, fmt.Sprintf(format, args...))
	d.told = append(d.told, field)
}

func (d *differences) sitting(was, is *Sitting) {
	if len(was.Checklist) == len(is.Checklist) {
		for i, step := range is.Checklist {
			switch had := was.Checklist[i]; {
			case had.Text != step.Text:
			case had.Done == nil && step.Done != nil:
				d.say("checklist", "“%s” was ticked", brief(step.Text))
			case had.Done != nil && step.Done == nil:
				d.say("checklist", "“%s” is no longer ticked", brief(step.Text))
			}
		}
	}
	listedAs(d, "struck", was.Struck, is.Struck, func(k Strike) string { return k.numbers() + " set aside: " + brief(k.Reason) },
		func(k Strike) string { return k.numbers() + " no longer set aside" })
	switch {
	case was.Ended == nil && is.Ended != nil:
		d.say("ended", "it ended")
	case was.Ended != nil && is.Ended == nil:
		d.say("ended", "it goes on")
	}
	switch {
	case is.Rule == nil && was.Rule != nil:
		d.say("rule", "judged by the usual rule for stability again")
	case is.Rule != nil && !reflect.DeepEqual(was.Rule, is.Rule) && is.Rule.Name != "":
		d.say("rule", "judged by %s", is.Rule.Name)
	case is.Rule != nil && !reflect.DeepEqual(was.Rule, is.Rule):
		d.say("rule", "judged by numbers of one's own, begun from %s", is.Rule.BegunFrom)
	}
	listed(d, "files", was.Files, is.Files, nameOfFile)
	if changed := fieldsThatDiffer(&was.SetUp, &is.SetUp); len(changed) > 0 {
		d.say("set_up", "set-up: %s", strings.Join(changed, ", "))
	}
}

// numbers are the readings of a strike, in words.
func (k *Strike) numbers() string {
	if k.From == k.To {
		return fmt.Sprintf("reading %d", k.From)
	}
	return fmt.Sprintf("readings %d to %d", k.From, k.To)
}

func nameOfFile(a Attachment) string { return "the file " + brief(a.Name) }

// listed says what was added to a list and what was taken out of it.
func listed[T any](d *differences, field string, was, is []T, name func(T) string) {
	listedAs(d, field, was, is, func(v T) string { return name(v) + " was added" }, func(v T) string { return name(v) + " was taken out" })
}

func listedAs[T any](d *differences, field string, was, is []T, added, gone func(T) string) {
	for _, v := range without(is, was) {
		d.say(field, "%s", added(v))
	}
	for _, v := range without(was, is) {
		d.say(field, "%s", gone(v))
	}
}

// without returns what is in one list and not in another, each as often as it is
// there more often.
func without[T any](list, other []T) (left []T) {
	other = slices.Clone(other)
	for _, v := range list {
		if i := slices.IndexFunc(other, func(o T) bool { return reflect.DeepEqual(o, v) }); i >= 0 {
			other = slices.Delete(other, i, i+1)
			continue
		}
		left = append(left, v)
	}
	return left
}

// others are the names of the fields that differ and that nothing was said of.
func (d *differences) others(before, after Record) []string {
	names := fieldsThatDiffer(before, after)
	return slices.DeleteFunc(names, func(name string) bool {
		return slices.ContainsFunc(d.told, func(field string) bool { return nameOfField(field) == name })
	})
}

// fieldsThatDiffer are the names of the fields in which the JSON of two values of one
// type differs, in the order of the type.
func fieldsThatDiffer(before, after any) (names []string) {
	was, is := fieldsOf(before), fieldsOf(after)
	t := reflect.TypeOf(before).Elem()
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if key != "" && !bytes.Equal(was[key], is[key]) {
			names = append(names, nameOfField(key))
		}
	}
	return names
}

func fieldsOf(v any) map[string]json.RawMessage {
	fields := map[string]json.RawMessage{}
	raw, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(raw, &fields)
	}
	if err != nil {
		return nil // what cannot be written was never kept
	}
	return fields
}

// fieldNames are fields that are not called as their keys are.
var fieldNames = map[string]string{
	"burned_hours": "hours burned", "declared": "what the box says", "photos": "pictures", "primary_assay": "the assay that the shelf shows",
	"distance_m": "distance", "ambient_c": "temperature of the air", "supply_v": "voltage", "supply_hz": "frequency", "power_at": "where power is read",
	"position": "burning position", "set_up": "set-up", "trusted_days": "days of trust", "trusted_hours": "hours of trust", "file": "its own file",
	"references": "reference lamps", "struck": "what is set aside", "rule": "rule for stability", "assays": "the lamps", "normalise": "how spectra are drawn",
}

func nameOfField(key string) string {
	if name, has := fieldNames[key]; has {
		return name
	}
	return strings.ReplaceAll(key, "_", " ")
}

// brief shortens a text of a person to what a line has room for.
func brief(text string) string {
	const most = 80
	text = strings.Join(strings.Fields(text), " ")
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most-1]) + "…"
	}
	return text
}
