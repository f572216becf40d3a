package webapp

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"net/http"
	"slices"

	"golang.org/x/image/webp"

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
	} else if why := brokenPicture(media, raw); why != "" {
		f.wrong(field, "%s cannot be taken: %s", name, why)
	}
	return name, media, raw, f.err
}

// mostPixels is the largest picture that is looked through, so that a small file that
// claims to be a huge picture costs no memory: 50 million pixels are 400 MB at most, and 200 MB mostly.
const mostPixels = 48 << 20

// decoders look through pictures, by their type.
var decoders = map[string]struct {
	config func(io.Reader) (image.Config, error)
	whole  func(io.Reader) (image.Image, error)
}{
	"image/jpeg": {jpeg.DecodeConfig, jpeg.Decode},
	"image/png":  {png.DecodeConfig, png.Decode},
	"image/webp": {webp.DecodeConfig, webp.Decode},
}

// brokenPicture says why a picture cannot be shown, "" where it can.
func brokenPicture(media string, raw []byte) string {
	d := decoders[media]
	c, err := d.config(bytes.NewReader(raw))
	if err != nil {
		return "it is broken or of an unusual kind. Open it in a picture program and save it again."
	}
	if c.Width*c.Height > mostPixels {
		return fmt.Sprintf("it is %d × %d pixels, and up to %d million pixels are taken. Save it smaller.", c.Width, c.Height, mostPixels>>20)
	}
	if _, err := d.whole(bytes.NewReader(raw)); err != nil {
		return "it breaks off or is damaged. Send it again."
	}
	return ""
}

func (s *Server) keepPhoto(ctx context.Context, l *notebook.Lamp, name, media string, raw []byte, caption string) (*notebook.Lamp, error) {
	photo, err := s.kept(ctx, name, media, raw, caption)
	if err != nil {
		return nil, err
	}
	l.Photos = append(l.Photos, photo)
	return s.nb.Lamps().Update(ctx, *l)
}

// kept keeps a picture with what it shows.
func (s *Server) kept(ctx context.Context, name, media string, raw []byte, caption string) (notebook.Attachment, error) {
	photo, err := s.nb.Keep(ctx, name, media, bytes.NewReader(raw))
	photo.Caption = caption
	return photo, err
}

// sittingPhoto adds a picture of the set-up to a sitting.
func (s *Server) sittingPhoto(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, "photo", func(sit *notebook.Sitting, f *form) error {
		name, media, raw, err := f.picture("photo")
		if err != nil {
			return err
		}
		photo, err := s.kept(r.Context(), name, media, raw, f.text("caption"))
		sit.Files = append(slices.Clone(sit.Files), photo)
		return err
	})
}

// sittingPhotoOut takes a picture off a sitting; a file that readings came from stays.
func (s *Server) sittingPhotoOut(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, "", func(sit *notebook.Sitting, f *form) error {
		photos, others := apart(sit.Files)
		left, err := takeOut(f, photos, attachmentMark)
		sit.Files = append(others, left...)
		return err
	})
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
	return s.showPhoto(w, r, l.Photos)
}

// photoOfSitting shows a picture of a sitting's set-up, and no other file.
func (s *Server) photoOfSitting(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	photos, _ := apart(sit.Files)
	return s.showPhoto(w, r, photos)
}

// apart tells the pictures among the files of a sitting from the others.
func apart(files []notebook.Attachment) (photos, others []notebook.Attachment) {
	for _, f := range files {
		if slices.Contains(photoMedia, f.Media) {
			photos = append(photos, f)
		} else {
			others = append(others, f)
		}
	}
	return photos, others
}

// showPhoto shows the picture that the address names, if it is among these.
func (s *Server) showPhoto(w http.ResponseWriter, r *http.Request, photos []notebook.Attachment) error {
	sum := notebook.Sum(r.PathValue("sum"))
	if !slices.ContainsFunc(photos, func(p notebook.Attachment) bool { return p.SHA256 == sum }) {
		return &userError{http.StatusNotFound, "There is no such picture here."}
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
