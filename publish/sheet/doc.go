// Package sheet writes the page of one assay and the page that compares
// several lamps. Each is one HTML file that stands alone: faces, pictures and
// the few lines of script are inside it, and its content security policy
// forbids the browser to ask anybody for anything. The same input gives the
// same bytes.
//
// Nothing is computed here. Values come from an [assay.Result], their rounding,
// names and sources from the register in [quantity], pictures from
// [figure]. This package arranges them, in one order: the light itself and six
// figures to remember, pictures, the numbers, what they lead to, what stands
// between them and a figure to rely on, and at the foot the method and its
// sources. Where the light was analysed, what makes it stands after the pictures
// of the light itself.
//
// A quantity without a value is shown as a dash with its reason in the same
// row. One outside its method's scope keeps its number, carries the words
// "outside scope", and has no rank in a comparison.
package sheet
