# make demo    the invented lamps: sheets and a comparison page, and where to open them
# make test    everything that is checked, with what it needs installed first
# make bench   the benchmarks, and the same work by a numpy script beside it
# make build   bin/lampassay
# make screenshots   every page of a notebook as it looks, in out/screenshots

GO ?= go
OUT ?= out/demo

.PHONY: build demo test check unit race fuzz bench docs

build:
	$(GO) build -o bin/lampassay ./cmd/lampassay

demo: build
	bin/lampassay demo --out $(OUT)

test: setup check unit race fuzz

.PHONY: setup
setup:
	@scripts/need gcc gcc libc6-dev
	@scripts/need chromium,chromium-browser,google-chrome chromium

check:
	@unformatted="$$(gofmt -l $$(git ls-files '*.go'))"; \
	if [ -n "$$unformatted" ]; then echo "gofmt would change: $$unformatted"; exit 1; fi
	$(GO) vet ./...
	$(GO) tool staticcheck ./...
	$(GO) mod verify

unit:
	$(GO) test -count=1 -timeout 10m ./...

# The packages in which goroutines meet.
race:
	$(GO) test -race -count=1 -timeout 10m -run 'Browsers|FollowedReading|HoldsNobody|Pushes' ./publish/webapp
	$(GO) test -race -count=1 -timeout 10m ./bench/live/... ./bench/course ./bench/ingest ./publish/cli ./light/rendition ./light/appearance
	$(GO) test -race -count=1 -timeout 10m -run 'Worker|Cancel|SideBySide' ./assay/uncertainty ./light/emission
	$(GO) test -race -count=1 -timeout 10m -run 'Instruments|Backup|Feed' ./bench/notebook/...

# Each fuzz target for a few thousand runs: a number of seconds may end in "context
# deadline exceeded", which fails a target that found nothing. Crashers found become
# regression tests.
FUZZTIME ?= 4000x
# A run of this one goes all the way to an assay with its draws.
FUZZTIME_WHOLE ?= 400x
fuzz:
	@set -e; log=$$(mktemp); trap 'rm -f "$$log"' EXIT; for pkg in $$($(GO) list ./...); do \
		for f in $$($(GO) test -list '^Fuzz' $$pkg | grep '^Fuzz' || true); do \
			echo "fuzz $$pkg $$f"; \
			case $$f in FuzzWhateverWasRead*) runs=$(FUZZTIME_WHOLE);; *) runs=$(FUZZTIME);; esac; \
			$(GO) test -run '^$$' -fuzz "^$$f$$" -fuzztime $$runs -fuzzminimizetime 10x $$pkg >"$$log" 2>&1 || { cat "$$log"; exit 1; }; \
		done; \
	done

bench: setup-bench
	$(GO) test -run '^$$' -bench . -benchmem ./light/... ./assay/... ./bench/ingest
	benchmarks/run

.PHONY: setup-bench
setup-bench:
	@/usr/bin/python3 -c 'import numpy' 2>/dev/null || scripts/need no-such-command python3-numpy

.PHONY: screenshots
screenshots: setup
	$(GO) test -count=1 -timeout 30m -run 'TestEveryPageCanBeReadByEveryone|TestAnEvening' ./publish/webapp -screenshots $(CURDIR)/out/screenshots

docs: build
	bin/lampassay selfcheck --markdown > docs/validation.md
	bin/lampassay quantities --markdown > docs/method/quantities.md
