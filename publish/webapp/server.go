package webapp

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/limits"
	"lampassay/publish/sheet"
)

// Options say how a notebook is served. Only Notebook is needed.
type Options struct {
	Notebook notebook.Notebook
	Name     string       // of the notebook, as the pages show it
	Version  string       // of the program
	Hosts    []string     // host names, with port, that requests may name
	Password string       // needed to enter; "" lets everyone in
	Cache    limits.Cache // of answers on what physics allows; may be nil
	Log      *slog.Logger // of faults of the machine; nil for none
	// SetUp names the instruments of the bench, as [live.ReadConfig] reads it; nil
	// for none.
	SetUp []byte
	// Began is called each time reading the instruments begins; may be nil.
	Began func()
	// Now is the clock, and Draws how many draws an uncertainty is from; zero for
	// the system's and [DefaultDraws].
	Now   func() time.Time
	Draws int
}

// DefaultDraws settle the two digits that a page shows of an uncertainty within
// about two per cent, in a second or two.
const DefaultDraws = 2000

// Server serves one notebook.
type Server struct {
	nb        notebook.Notebook
	opt       Options
	log       *slog.Logger
	now       func() time.Time
	guard     *guard
	patience  patience
	solver    *limits.Solver
	sheets    *memory[notebook.ID, *assayed]
	fragments *memory[sheetKey, *sheet.Fragment]
	strips    *memory[notebook.ID, stripSVG]
	sureness  *memory[notebook.ID, map[string]float64] // of an assay's figures, by key
	answers   *memory[string, *limitAnswer]
	pictures  *memory[picturesKey, *runUpPictures]
	desk      desk
	courses   courses
	heavy     chan struct{} // who computes for seconds takes a turn
}

// New prepares a server.
func New(o Options) (*Server, error) {
	if o.Notebook == nil {
		return nil, errors.New("webapp: there is no notebook to serve")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Draws == 0 {
		o.Draws = DefaultDraws
	}
	g, err := newGuard(&o)
	if err != nil {
		return nil, err
	}
	if len(o.SetUp) > 0 {
		if _, err := live.ReadConfig("the set-up of the bench", bytes.NewReader(o.SetUp)); err != nil {
			return nil, err
		}
	}
	return &Server{
		nb: o.Notebook, opt: o, log: o.Log, now: o.Now, guard: g, patience: usualPatience,
		solver: &limits.Solver{Cache: o.Cache},
		sheets: newMemory[notebook.ID, *assayed](256), fragments: newMemory[sheetKey, *sheet.Fragment](64),
		strips: newMemory[notebook.ID, stripSVG](4096), sureness: newMemory[notebook.ID, map[string]float64](4096), answers: newMemory[string, *limitAnswer](256),
		pictures: newMemory[picturesKey, *runUpPictures](16),
		heavy:    make(chan struct{}, 1),
	}, nil
}

// Handler returns the pages behind their guard.
func (s *Server) Handler() http.Handler {
	m := http.NewServeMux()
	get := func(pattern string, h page) { m.Handle("GET "+pattern, s.serve(h)) }
	post := func(pattern string, h page) { m.Handle("POST "+pattern, s.accept(h, mostForm)) }

	get("/{$}", s.shelf)
	get("/lamps/new", s.lampForm)
	post("/lamps", s.lampSave)
	get("/lamps/{id}", s.lamp)
	get("/lamps/{id}/edit", s.lampForm)
	post("/lamps/{id}", s.lampSave)
	post("/lamps/{id}/history", s.lampHistory)
	post("/lamps/{id}/history/out", s.lampHistoryOut)
	post("/lamps/{id}/photos/out", s.lampPhotoOut)
	m.Handle("POST /lamps/{id}/photos", s.accept(s.lampPhoto, mostPhoto))
	get("/lamps/{id}/photos/{sum}", s.photo)

	get("/lamps/{id}/sit", s.sittingForm)
	post("/sittings", s.sittingSave)
	get("/sittings/{id}", s.sitting)
	get("/sittings/{id}/record", s.sittingRecord)
	get("/sittings/{id}/live", s.sittingLive)
	get("/sittings/{id}/pictures", s.sittingPictures)
	get("/sittings/{id}/edit", s.sittingChange)
	post("/sittings/{id}", s.sittingSave)
	m.Handle("POST /sittings/{id}/photos", s.accept(s.sittingPhoto, mostPhoto))
	post("/sittings/{id}/photos/out", s.sittingPhotoOut)
	get("/sittings/{id}/photos/{sum}", s.photoOfSitting)
	post("/sittings/{id}/step", s.sittingStep)
	post("/sittings/{id}/reading", s.sittingReading)
	post("/sittings/{id}/strike", s.sittingStrike)
	post("/sittings/{id}/rule", s.sittingRule)
	post("/sittings/{id}/end", s.sittingEnd)
	get("/sittings/{id}/desk", s.sittingDesk)
	post("/sittings/{id}/listen", s.sittingListen)
	m.Handle("POST /sittings/{id}/assay", s.accept(s.assayMake, mostUpload))

	get("/assays/{id}", s.assay)
	get("/assays/{id}/colours.css", s.assayColours)
	get("/assays/{id}/record.json", s.assayRecord)
	get("/assays/{id}/spectrum", s.assaySpectrum)
	get("/assays/{id}/sheet", s.assaySheet)
	post("/assays/{id}/choose", s.assayChoose)

	get("/import", s.importStart)
	m.Handle("POST /import", s.accept(s.importUpload, mostUpload))
	get("/import/{sum}", s.importLook)
	get("/import/{sum}/recipe", s.importRecipe)
	post("/import/{sum}", s.importTake)

	get("/compare", s.compare)
	post("/comparisons", s.comparisonSave)
	post("/comparisons/{id}", s.comparisonRename)
	get("/limit", s.limit)
	get("/limit/answer", s.limitAnswer)

	get("/instruments", s.instruments)
	get("/instruments/new", s.instrumentForm)
	m.Handle("POST /instruments", s.accept(s.instrumentSave, mostUpload))
	get("/instruments/{id}", s.instrument)
	get("/instruments/{id}/edit", s.instrumentForm)
	m.Handle("POST /instruments/{id}", s.accept(s.instrumentSave, mostUpload))
	get("/instruments/{id}/response", s.responseStart)
	m.Handle("POST /instruments/{id}/response", s.accept(s.responseUpload, mostUpload))
	get("/instruments/{id}/response/look", s.responseLook)
	post("/instruments/{id}/response/keep", s.responseKeep)
	get("/instruments/{id}/stray", s.strayStart)
	m.Handle("POST /instruments/{id}/stray", s.accept(s.strayUpload, mostUpload))
	get("/instruments/{id}/stray/look", s.strayLook)
	post("/instruments/{id}/stray/keep", s.strayKeep)
	post("/instruments/{id}/calibrations", s.instrumentCalibrated)
	post("/instruments/{id}/calibrations/out", s.calibrationOut)
	get("/instruments/{id}/wavelength", s.wavelengthStart)
	m.Handle("POST /instruments/{id}/wavelength", s.accept(s.wavelengthUpload, mostUpload))
	get("/instruments/{id}/wavelength/{sum}", s.wavelengthLook)
	post("/instruments/{id}/wavelength/{sum}", s.wavelengthKeep)

	get("/references", s.references)
	get("/references/new", s.referenceForm)
	post("/references", s.referenceSave)
	get("/references/{id}", s.reference)
	get("/references/{id}/edit", s.referenceForm)
	post("/references/{id}", s.referenceSave)
	m.Handle("POST /references/{id}/files", s.accept(s.referenceFile, mostUpload))
	post("/references/{id}/files/out", s.referenceFileOut)
	get("/publications", s.publications)
	get("/publications/new", s.publicationForm)
	m.Handle("POST /publications", s.accept(s.publicationSave, mostUpload))
	get("/publications/{id}", s.publication)
	post("/publications/{id}/errata", s.publicationErratum)

	get("/log", s.journal)
	get("/trash", s.trash)
	post("/undo", s.undo)
	post("/trash", s.trashPut)
	post("/restore", s.trashRestore)
	get("/settings", s.settings)
	post("/verify", s.verify)
	get("/export", s.export)
	post("/club", s.clubFill)
	get("/help", s.help)
	get("/events", s.events)
	get("/files/{sum}", s.file)
	get("/", s.nowhere)

	outer := http.NewServeMux()
	outer.Handle("GET /static/{name}", http.HandlerFunc(s.static))
	outer.Handle("GET /enter", s.serve(s.enterForm))
	outer.Handle("POST /enter", s.accept(s.enter, mostForm))
	outer.Handle("POST /leave", s.accept(s.leave, mostForm))
	outer.HandleFunc(pushPath, s.pushed)
	outer.Handle("/", s.guard.needSession(m))
	return s.patience.bound(s.guard.protect(outer))
}

// Limits on what a request may bring.
const (
	mostForm   = 1 << 20
	mostUpload = 64 << 20
)

// Close stops reading instruments; what they said is kept by then.
func (s *Server) Close() error { return s.desk.halt(0) }

// Serve answers requests until ctx ends, and then lets those under way finish.
func (s *Server) Serve(ctx context.Context, listen *http.Server, start func() error) error {
	listen.Handler = s.Handler()
	listen.ReadHeaderTimeout = 10 * time.Second
	listen.IdleTimeout = 2 * time.Minute
	listen.MaxHeaderBytes = 64 << 10
	requests, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	listen.BaseContext = baseContext(requests)
	failed := make(chan error, 1)
	go func() { failed <- start() }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	stop() // ends the streams, which would never finish by themselves
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := listen.Shutdown(grace); err != nil {
		return errors.Join(err, listen.Close())
	}
	if err := <-failed; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
