# quoin: what can be made. `make help` lists it.

GO          ?= go
GOFUMPT      = $(GO) run mvdan.cc/gofumpt@v0.12.0
STATICCHECK  = $(GO) run honnef.co/go/tools/cmd/staticcheck@v0.8.2

BUILD_PACKAGES = gcc libc6-dev pkg-config libgeos-dev libproj-dev libgdal-dev
TEST_PACKAGES  = python3-gdal gdal-bin chromium
NODE_PACKAGES  = $(shell command -v node >/dev/null || echo nodejs npm)

DEMO     = build/demo
DELIVERY = build/delivery

.PHONY: help build demo pictures test test-nogdal race lint fmt fuzz soak bench accuracy accuracy-full accuracy-quick calibration image-proof memory clean install install-test

help: ## list what can be made
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /\1|/' | column -t -s '|'

install: ## install the libraries that building needs (Debian)
	@.ci/install $(BUILD_PACKAGES)

install-test: install ## install what the tests need beside them
	@.ci/install $(TEST_PACKAGES) $(NODE_PACKAGES)

build: install ## build bin/quoin
	$(GO) build -o bin/quoin ./cmd/quoin

demo: build ## fly an invented site, extract its footprints, and check them
	bin/quoin demo $(DEMO)
	bin/quoin extract $(DEMO)/cloud/*.las --control $(DEMO)/control.csv --ortho $(DEMO)/ortho.tif --same-cloud no --out $(DELIVERY)
	@echo
	@echo "Look at:"
	@ls -1 $(DELIVERY)/*

pictures: install-test demo ## remake the picture in the README from the demo block
	chromium --headless --no-sandbox --disable-gpu --disable-background-networking --hide-scrollbars \
		--window-size=1000,1560 --screenshot=docs/img/plan.png file://$(CURDIR)/$(DELIVERY)/report.html

test: install-test ## run all tests
	$(GO) test ./...

test-nogdal: install ## build without GDAL, and run the tests that are about that
	$(GO) build -tags nogdal ./...
	$(GO) test -tags nogdal ./vector/gdal
	$(GO) test -tags nogdal -run TestScripts/image ./cmd/quoin

race: install-test ## run all tests under the race detector
	$(GO) test -race ./...

lint: install ## gofumpt, go vet, staticcheck
	@unformatted=$$($(GOFUMPT) -l cmd extract vector); \
	if [ -n "$$unformatted" ]; then echo "run make fmt: $$unformatted"; exit 1; fi
	$(GO) vet ./...
	$(STATICCHECK) ./...

fmt: ## format the code
	$(GOFUMPT) -w cmd extract vector

FUZZTIME ?= 60000x
fuzz: install ## run each fuzz target FUZZTIME (60,000 inputs)
	@.ci/fuzz $(FUZZTIME)

soak: ## run each fuzz target on five million inputs (hours)
	@$(MAKE) fuzz FUZZTIME=5000000x

bench: install ## run the benchmarks
	$(GO) test -run '^$$' -bench . -benchmem ./...

# The program must be built first; blocks are kept in build/accuracy.
ACCURACY = nice $(GO) run ./cmd/accuracy

accuracy: build ## measure on simulated blocks, write docs/accuracy.md (20 minutes)
	$(ACCURACY) --preset standard --clean subset --page docs/accuracy.md

calibration: build ## fit the coefficients of quality on simulated blocks, print the tables (half an hour)
	$(ACCURACY) --calibrate --composites street,suburb,rows,wings,courts,halls,gardens,hillside,yard,forest,skew,works,fair,real --spacings 0.15,0.3,0.5,0.7 --seeds 4

accuracy-quick: build ## measure on a few blocks, fail on a clear regression (4 minutes)
	$(ACCURACY) --preset quick --limits testdata/accuracy/quick.json

image-proof: install ## judge the images of 300 simulated blocks under 3 layers each (40 minutes)
	nice $(GO) test ./extract/scene -run OrthosAreJudged -v -timeout 3h -blocks 300 -layers 3

COPIES ?= 16
memory: install ## run the job on COPIES (16) demo blocks of 3 million points with 512 MiB allowed, report its memory (5 minutes)
	nice $(GO) test ./extract -run '^$$' -bench Memory -benchtime 1x -timeout 0 -copies $(COPIES)

accuracy-full: build ## measure on all blocks, spacings and seeds (hours)
	$(ACCURACY) --preset full --clean full --page docs/accuracy.md

clean: ## remove what was built
	rm -rf bin build
