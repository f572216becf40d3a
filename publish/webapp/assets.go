package webapp

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"

	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

//go:embed static/*.css static/*.js static/*.svg
var static embed.FS

// asset is a file that the pages load.
type asset struct {
	media string
	body  []byte
	sum   string
}

// assets are all there are, by name: a request looks one up here and nowhere
// else.
var assets = sync.OnceValue(func() map[string]asset {
	all := map[string]asset{}
	add := func(name string, body []byte) {
		sum := sha256.Sum256(body)
		all[name] = asset{mediaOf(name), body, hex.EncodeToString(sum[:])}
	}
	for _, f := range figure.Faces() {
		add(f.Name+".woff2", f.WOFF2)
	}
	add("sheet.css", []byte(sheet.Styles(func(f figure.Face) string { return "/static/" + f.Name + ".woff2" })))
	entries, err := static.ReadDir("static")
	if err != nil {
		panic("webapp: " + err.Error()) // the files are part of the program
	}
	for _, e := range entries {
		body, err := static.ReadFile("static/" + e.Name())
		if err != nil {
			panic("webapp: " + err.Error()) // as above
		}
		add(e.Name(), body)
	}
	return all
})

func mediaOf(name string) string {
	switch path.Ext(name) {
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	case ".svg":
		return "image/svg+xml"
	}
	return "application/octet-stream"
}

// static serves an asset. Addresses carry its sum, so a browser may keep it.
func (s *Server) static(w http.ResponseWriter, r *http.Request) {
	a, has := assets()[r.PathValue("name")]
	if !has {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", a.media)
	h.Set("ETag", `"`+a.sum+`"`)
	h.Set("Cache-Control", "no-cache")
	if strings.HasPrefix(a.sum, r.URL.RawQuery) && r.URL.RawQuery != "" || a.media == "font/woff2" {
		h.Set("Cache-Control", "max-age=31536000, immutable")
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.body))
}
