package webapp

import (
	"bytes"
	"context"
	"net/http"
	"net/url"

	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
)

// inventedTag marks lamps that nobody has.
const inventedTag = "invented"

// clubFill puts the invented lamps of the Tidewater Model Railway Club on an empty
// shelf, each from its file as anybody's would be.
func (s *Server) clubFill(w http.ResponseWriter, r *http.Request) error {
	shelf, err := s.nb.Shelf(r.Context(), notebook.Query{Limit: 1})
	if err != nil {
		return err
	}
	if shelf.Total > 0 {
		return bad("There are lamps on the shelf already: invented ones are for an empty notebook.")
	}
	var made changeList
	for _, l := range tidewater.Lamps() {
		one, err := s.clubLamp(r.Context(), &l)
		if err != nil {
			return err
		}
		made = append(one, made...)
	}
	return backAfter(w, r, "/", made)
}

// clubLamp adds a lamp with its sitting and assay, and returns the changes, the newest
// first.
func (s *Server) clubLamp(ctx context.Context, l *tidewater.Lamp) (changeList, error) {
	var raw bytes.Buffer
	if err := l.Write(&raw); err != nil {
		return nil, err
	}
	readings, projection, err := readAll(l.FileName, raw.Bytes(), url.Values{}, nil, s.now().UTC())
	if err != nil {
		return nil, err
	}
	file, err := s.nb.Keep(ctx, l.FileName, "application/octet-stream", bytes.NewReader(raw.Bytes()))
	if err != nil {
		return nil, err
	}
	lamp := notebook.Lamp{
		Name: l.Name, Technology: l.Technology, Tags: []string{inventedTag},
		Notes: l.Note + " Invented, like all of the Tidewater Model Railway Club.",
	}
	for _, d := range []struct {
		id quantity.ID
		v  float64
	}{{quantity.LuminousFlux, l.Declared.FluxLm}, {quantity.Power, l.Declared.PowerW}, {quantity.CCT, l.Declared.CCT}, {quantity.Ra, l.Declared.Ra}} {
		if def := quantity.Get(d.id); d.v > 0 {
			lamp.Declared = append(lamp.Declared, notebook.Declared{Quantity: def.Key, Value: d.v, Unit: def.Unit, Source: "box"})
		}
	}
	kept, err := s.nb.Lamps().Add(ctx, lamp)
	if err != nil {
		return nil, err
	}
	values := []notebook.Value{{Key: keyFlux, V: &l.FluxLm, Unit: "lm"}, {Key: keyPower, V: &l.PowerMainsW, Unit: "W"}}
	if l.PowerLampW > 0 {
		values = append(values, notebook.Value{Key: keyPowerLamp, V: &l.PowerLampW, Unit: "W"})
	}
	readings = append(readings, notebook.Reading{At: readings[0].At, Channel: channelEntered, Values: values, Note: "invented"})
	sit := &notebook.Sitting{Lamp: kept.ID, Title: "File " + l.FileName, Files: []notebook.Attachment{file}, SetUp: notebook.SetUp{PowerAt: powerAtMains, Remarks: "Invented."}}
	_, made, err := s.keepImport(ctx, sit, readings, projection, usualClass)
	return append(made, kept.Revision), err
}
