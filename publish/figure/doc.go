// Package figure draws the pictures of a sheet, a comparison and a publication
// as SVG and PNG.
//
// # How a picture is made
//
// Each figure is a small struct of prepared data with its units in the field
// comments. Its Picture method checks the data and returns a [Picture]: the
// drawing, a title that says what is to be seen, a description for those who
// cannot see it, and the table of what was drawn. Nothing photometric is
// computed here.
//
//	p, err := figure.SpectralPower{
//		Wavelengths: nm, Values: watts, Unit: "W/nm", Colours: palette,
//	}.Picture()
//	…
//	err = p.SVG(w, figure.Page)              // inline in a page
//	err = p.At(figure.Narrow).SVG(w, figure.Page)
//	err = p.PNG(f, figure.Dark, 1520)        // for a film or a post
//
// A picture has no size of its own: it is laid out anew for the width it is
// asked for ([Wide], [Narrow] or any other), so that text is never smaller than
// 11 px there and no label is squeezed.
//
// # Colour
//
// A drawing names roles ([Roles]), not colours. On a page a role is a CSS
// custom property with the light value as its fallback, so that a picture
// follows the page's own light and dark. Stand-alone pictures have the colours
// written in, a ground, the title above and the note below. What is coloured is
// also told apart by place, form or words.
//
// # Text
//
// SVG text stays text, set in the faces of [Faces]; a page must serve them with
// [Face.CSS], a stand-alone SVG carries them. Output depends on the data alone:
// same picture, same bytes. The faces hold Latin, Greek, Cyrillic and the signs of
// units; in a PNG any other character of a name is an empty box.
package figure
