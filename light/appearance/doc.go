// Package appearance shows surfaces, and a photograph, as they would look under
// a light: a simulation for a screen.
//
//	scene, err := appearance.New(projected, appearance.Options{})
//	scene.Colour(color.NRGBA{200, 40, 30, 255}) // a red of daylight, under this light
//	scene.Surface(380, 5, reflectance)          // a measured surface
//
// # From three numbers to a spectrum
//
// A photograph has three numbers a pixel, and what a light makes of a surface
// depends on all wavelengths. W. Jakob & J. Hanika, "A low-dimensional function
// space for efficient spectral upsampling", Computer Graphics Forum 38 (2) 147
// (2019), give each colour one smooth reflectance between 0 and 1,
//
//	ρ(λ) = 1/2 + U/(2√(1 + U²)),  U = c₂λ² + c₁λ + c₀
//
// with the three coefficients such that under daylight the surface has just that
// colour. Here they are solved by damped least squares at the nodes of a grid of
// colours, ten brightnesses of each of its chromaticities, and between nodes
// reflectances are mixed. Mixing is linear, as is light, so under D65 every colour
// comes back, whatever the grid.
//
// It is one of endless surfaces of that colour. Two that look alike in daylight
// may part under a line lamp; a simulation shows what such a light does to
// colours in general, not what it does to this paint.
//
// # From light to the screen
//
// White paper under the light is shown as bright as the screen allows for its
// colour, whatever the lumens. Without adaptation the screen's own white, D65, is
// what the eye is used to, so warm light looks orange; with it the eye has become
// wholly used to the light (CAT02 of CIE 159:2004, D = 1), which real eyes do not
// do under strongly coloured light. What lies outside the screen's triangle of
// colours loses purity, not hue or luminance.
//
// Under light of one wavelength every surface is that colour, from black to
// bright, and nothing else.
package appearance
