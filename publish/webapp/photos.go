package webapp

import (
	"bytes"
	"context"
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
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	f := formOf(r, "photo")
	name, media, raw, err := f.picture("photo")
	if err == nil {
		l, err = s.keepPhoto(r.Context(), l, name, media, raw, f.text("caption"))
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showLamp(w, r, status, id, f) })
	}
	return back(w, r, lampPath(id), l.Revision)
}

// picture reads the picture that was sent in a field.
func (f *form) picture(field string) (name, media string, raw []byte, err error) {
	file, head, err := f.r.FormFile(field)
	if err != nil {
		f.wrong(field, "No picture arrived: choose one first.")
		return "", "", nil, f.err
	}
	defer file.Close()
	if raw, err = io.ReadAll(file); err != nil {
		return "", "", nil, err
	}
	name, media = labelOf(head.Filename), http.DetectContentType(raw)
	if !slices.Contains(photoMedia, media) {
		f.wrong(field, "%s is no picture that a browser can be trusted with: JPEG, PNG and WebP are.", name)
	}
	return name, media, raw, f.err
}

func (s *Server) keepPhoto(ctx context.Context, l *notebook.Lamp, name, media string, raw []byte, caption string) (*notebook.Lamp, error) {
	photo, err := s.nb.Keep(ctx, name, media, bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	photo.Caption = caption
	l.Photos = append(l.Photos, photo)
	return s.nb.Lamps().Update(ctx, *l)
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
