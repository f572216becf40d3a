package sheet

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"image/color"
	"sync"

	"lampassay/publish/figure"
)

//go:embed *.html
var sources embed.FS

//go:embed page.css
var pageStyle string

//go:embed page.js
var pageScript string

var pages = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(sources, "*.html"))
})

// styles returns the style sheet with the faces and the pictures' colours
// before it.
var styles = sync.OnceValue(func() template.CSS {
	return template.CSS(Styles(func(f figure.Face) string {
		return "data:font/woff2;base64," + base64.StdEncoding.EncodeToString(f.WOFF2)
	}))
})

// ground returns what pictures and page lie on, light and dark.
func ground() (light, dark color.NRGBA) {
	for _, r := range figure.Roles() {
		if r.Property == "--panel" {
			return r.Light, r.Dark
		}
	}
	return color.NRGBA{255, 255, 255, 255}, color.NRGBA{0, 0, 0, 255}
}

// policy returns the content security policy: nothing may be fetched, and the
// only script that may run is the one of this package.
var policy = sync.OnceValue(func() string {
	sum := sha256.Sum256([]byte(pageScript))
	return "default-src 'none'; font-src data:; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-" +
		base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"
})
