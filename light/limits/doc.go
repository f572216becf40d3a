// Package limits computes how far light can go: the largest luminous efficacy of
// radiation that any spectrum can have under stated conditions.
//
// # The question as a program
//
// Light is a mixture of columns: lines of a given width at every nanometre, or
// given emitters. Of each, aⱼ ≥ 0 radiant watts are taken. Everything linear in
// the spectrum, above all the tristimulus values, is linear in a. Ask for one
// lumen (to a factor) of a given chromaticity and the best light is the one of
// the least power:
//
//	minimise Σ cⱼ aⱼ   subject to   Y = 1, chromaticity, demands,   a ≥ 0
//
// with cⱼ = 1, or the reciprocal wall-plug efficiency of an emitter. Chromaticity
// and bounds on ratios (S/P, melanopic DER) are linear in a: with those alone this
// is a linear program, its optimum exact and its dual an exact bound.
//
// An index counts colour differences. With the chromaticity settled the samples'
// tristimulus values are linear in a, their place in the colour space nearly so,
// and a length is convex: so Ra ≥ r is a convex condition but for the bend of
// the space. That is why a local method finds the global optimum, and why
// independent starts agree; see [Evidence] for what is checked each time. Bounds
// on Rg are not convex, nor is a limit on the number of lines.
//
// # The method
//
// A primal-dual interior-point method takes all columns at once. Colour
// differences enter the Newton system with the curvature of their length, two
// rows a sample, so that the system to factor has as many rows as there are
// conditions and differences, not columns. Demands are elastic: they may be
// missed at a price far above any that an answer pays, so that the same program
// finds out by how much a demand cannot be met. The multipliers of the program
// are the shadow prices.
package limits
