// Package assay turns one projected spectrum and what was measured beside it
// into every quantity and finding.
//
//	e := assay.NewEvaluator()
//	var r assay.Result
//	e.Evaluate(projected, &given, &r)
//	r.Value(quantity.CCT)
//
// An [Evaluator] is prepared once and used by one goroutine; a [Result] is
// reused. Evaluate computes everything and allocates nothing, so that a
// thousand spectra, or ten thousand draws of an uncertainty run, cost what
// their arithmetic costs. Sentences (the reasons, warnings and findings) are
// made only for those who read them.
//
// # Undefined is a result
//
// A quantity that means nothing for this light, or that was not measured, has
// no value; [Result.Why] says why in a sentence. A quantity that was computed
// outside the scope of its method, such as Ra of a sodium lamp, has both: the
// trade quotes such figures, so the number is there, and so is the reason not
// to rank by it.
//
// # What has not been seen
//
// A spectrum says nothing outside its range. Where more than [MissingLimit] of
// a weighting lies out there, what needs that weighting is undefined; where
// less does, the quantity stands and a warning names the share. The one
// exception is the reference light of the rendition methods, which always
// covers all of 380–780 nm.
package assay
