package webapp

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"slices"

	"lampassay/bench/notebook"
)

// photoMedia are the pictures that are taken, by what their bytes say they are.
var photoMedia = []string{"image/jpeg", "image/png", "image/webp"}

// mostPhoto is the largest picture.
const mostPhoto = 24 << 20

// lampPhoto adds a picture to a lamp.
func (s *Server) lampPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	f, head, err := r.FormFile("photo")
	if err != nil {
		return bad("No picture arrived: choose one first.")
	}
	defer f.Close()
	raw, err := io.ReadAll(f)
	if err != nil {
		return err
	}
	media := http.DetectContentType(raw)
	if !slices.Contains(photoMedia, media) {
		return bad("%s is no picture that a browser can be trusted with: JPEG, PNG and WebP are.", labelOf(head.Filename))
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	photo, err := s.nb.Keep(r.Context(), labelOf(head.Filename), media, bytes.NewReader(raw))
	if err != nil {
		return err
	}
	photo.Caption = newForm(r).text("caption")
	l.Photos = append(l.Photos, photo)
	kept, err := s.nb.Lamps().Update(r.Context(), *l)
	if err != nil {
		return err
	}
	return back(w, r, lampPath(id), kept.Revision)
}

// photo shows a picture of a lamp, and no other file.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	sum := notebook.Sum(r.PathValue("sum"))
	i := slices.IndexFunc(l.Photos, func(p notebook.Attachment) bool { return p.SHA256 == sum })
	if i < 0 {
		return &userError{http.StatusNotFound, "This lamp has no such picture."}
	}
	raw, err := s.nb.File(r.Context(), sum)
	if err != nil {
		return err
	}
	media := http.DetectContentType(raw) // what it is, not what was said of it
	if !slices.Contains(photoMedia, media) {
		return &userError{http.StatusNotFound, "That file is no picture."}
	}
	h := w.Header()
	h.Set("Content-Type", media)
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("ETag", fmt.Sprintf("%q", sum))
	_, err = w.Write(raw)
	return ignoreGone(err)
}
