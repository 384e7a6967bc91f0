# Everything a developer runs. `make` alone lists the targets.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
MAKEFLAGS += --no-print-directory

# How long each fuzz target runs: a duration, or a count such as 3000x, which
# alone ends the same way on a busy machine.
FUZZTIME ?= 20s
BENCH ?= .
BENCHTIME ?= 300ms
TESTFLAGS ?=

# The race detector needs a C compiler.
CC_FOUND := $(shell command -v $$(go env CC) 2>/dev/null)
RACE := $(if $(CC_FOUND),-race,)

# Prints "folder TestA|TestB" for the tests that compare with recorded bytes:
# those that call testkit.Golden, or all of a file whose helper does.
define golden_list
grep -rl --include='*_test.go' 'testkit\.Golden(' $(1) | grep -v '^internal/testkit/' | sort | xargs -r awk ' \
  FNR == 1 {dir = FILENAME; sub(/\/[^\/]*$$/, "", dir)} \
  /^func / {name = match($$0, /^func Test[A-Za-z0-9_]*/) ? substr($$0, 6, RLENGTH - 5) : "Test.*"} \
  /testkit\.Golden\(/ && !seen[dir, name]++ {names[dir] = names[dir] (dir in names ? "|" : "") name} \
  END {for (dir in names) print dir, names[dir]}' | sort
endef

DOMAIN := nmea controller coverage replay
# The whole way from a recording to written files runs in cmd.
SAME := cmd $(DOMAIN)
EXAMPLE := testdata/sessions/mill-piece

.PHONY: help
help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "  make %-14s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

# The page is built where Node.js is there; without it the program says on the page
# how to build it.
WEB := internal/web
NPM := $(shell command -v npm 2>/dev/null)
PAGE := $(if $(NPM),web)

.PHONY: build
build: $(PAGE) ## the static binary bin/drawbar, with the page in it where Node.js is there
	CGO_ENABLED=0 go build -trimpath -o bin/drawbar ./cmd/drawbar

.PHONY: web
web: $(WEB)/dist/index.html ## the page for the cab, into internal/web/dist (needs Node.js 20)

$(WEB)/dist/index.html: $(WEB)/node_modules/.package-lock.json $(shell find $(WEB)/src $(WEB)/public $(WEB)/scripts -type f 2>/dev/null) $(WEB)/index.html $(WEB)/vite.config.ts $(WEB)/tsconfig.json
	cd $(WEB) && npm run build

$(WEB)/node_modules/.package-lock.json: $(WEB)/package-lock.json $(WEB)/package.json
	cd $(WEB) && npm ci --no-audit --no-fund && touch node_modules/.package-lock.json

.PHONY: web-dev
web-dev: $(WEB)/node_modules/.package-lock.json ## build the page anew whenever its source changes
	cd $(WEB) && npm run dev

.PHONY: web-test
web-test: web ## the page's own tests, and whether its types are those of the API
	cd $(WEB) && npm run check && npm test && npm run types:check

.PHONY: client
client: build ## every operation of the API, called on the real program by a client made from its description
	cd $(WEB) && npm run client

.PHONY: browser
browser: build ## the page in a real browser on the real program (needs Chromium)
	cd $(WEB) && npm run browser

.PHONY: demo
demo: build ## build, then the daemon on a simulated tractor with its page until Ctrl-C; without a terminal half a minute of it
	@if [ -t 1 ]; then bin/drawbar demo; else bin/drawbar demo --speed 30 --once --listen 127.0.0.1:0; fi

.PHONY: example
example: build ## build, then replay the example session and print its summary
	bin/drawbar replay --config $(EXAMPLE)/config.yaml $(EXAMPLE)/input.capture

.PHONY: lint
lint: ## formatting, go vet, staticcheck
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "gofmt -w these files:"; echo "$$unformatted"; exit 1; fi
	go vet ./...
	go tool staticcheck ./...

.PHONY: test
test: lint core race ## lint, then all tests in random order, with the race detector where there are goroutines

.PHONY: check
check: lint ## lint, then all tests without the race detector: quicker
	go test -shuffle=on -timeout 10m $(TESTFLAGS) ./...

# The domain starts no goroutine and shares nothing, as internal/archtest sees to, nor
# do these others: there the race detector only makes the geometry five times slower.
SINGLE := $(DOMAIN) $(addprefix internal/,agronomy archtest boundary choices config export handover ready sim units yamltree)
CORE := $(SINGLE:%=./%/...)

.PHONY: core
core: ## the tests of packages without goroutines, and the program from outside
	go test -shuffle=on -timeout 15m $(TESTFLAGS) $(CORE)
	go test -run '^TestScripts$$' -shuffle=on -timeout 15m $(TESTFLAGS) ./cmd/...

.PHONY: race
race: ## all other tests, with the race detector
	@[ -n "$(RACE)" ] || echo "no C compiler ($$(go env CC)): testing without the race detector; install gcc to have it"
	go test $(RACE) -skip '^TestScripts$$' -shuffle=on -timeout 15m $(TESTFLAGS) $$(go list ./... | grep -vE '^drawbar/($(subst $(eval ) ,|,$(SINGLE)))(/|$$)')

.PHONY: golden
golden: ## only the comparisons with recorded bytes
	@$(call golden_list,internal $(SAME)) | while read -r dir names; do \
	   go test -run "^($$names)\$$" $(TESTFLAGS) ./$$dir; \
	 done

.PHONY: golden-update
golden-update: ## record those bytes anew (look at the diff before you commit it)
	@[ "$${CI:-}" != true ] || { echo "golden-update is refused where CI=true"; exit 1; }
	@$(MAKE) golden TESTFLAGS='-count=1 -update'
	@git status --short -- '*testdata*'

.PHONY: fuzz
fuzz: ## every fuzz target for FUZZTIME (20s, or a count such as 3000x) each
	@list=$$(go test -list '^Fuzz' ./... | awk '/^Fuzz/ {name[++n] = $$1} /^(ok|\?)/ {for (i = 1; i <= n; i++) print $$2, name[i]; n = 0}'); \
	 [ -n "$$list" ] || { echo "no fuzz targets found"; exit 1; }; \
	 while read -r package name; do \
	   echo "fuzz $$package $$name, $(FUZZTIME)"; \
	   go test -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 500x "$$package" </dev/null | tail -n 20; \
	 done <<<"$$list"

.PHONY: bench
bench: ## one run of every benchmark (BENCH=regexp, BENCHTIME=300ms), on one processor, as a table
	@go test -run '^$$' -bench '$(BENCH)' -benchtime $(BENCHTIME) -benchmem -cpu 1 -p 1 ./... | \
	 awk '/^(cpu|pkg):/ {print} /^Benchmark/ {printf "  %-44s", $$1; for (i = 3; i < NF; i += 2) printf " %12s %-14s", $$i, $$(i + 1); print ""} /^(FAIL|---)/ {print; bad = 1} END {exit bad}'

.PHONY: cross
cross: $(PAGE) ## static binaries for linux on amd64, arm64 and armv7 into bin/
	@for target in amd64 arm64 arm; do \
	   out=bin/drawbar-linux-$$target; \
	   CGO_ENABLED=0 GOOS=linux GOARCH=$$target GOARM=7 go build -trimpath -ldflags='-s -w' -o $$out ./cmd/drawbar; \
	   echo "$$out $$(stat -c %s $$out) bytes"; \
	 done

# A tag vX.Y.Z names the version; without one each commit is later than the last.
VERSION ?= $(or $(patsubst v%,%,$(shell git describe --tags --match 'v[0-9]*' 2>/dev/null)),0.0.0+git$(shell TZ=UTC git log -1 --date=format-local:%Y%m%d%H%M%S --format=%cd.%h))
NFPM := github.com/goreleaser/nfpm/v2/cmd/nfpm@v2.45.1

.PHONY: packages
packages: cross ## Debian packages for amd64, arm64 and armhf (armv7) into bin/packages/, then their tests
	@rm -rf bin/packages; mkdir -p bin/packages; \
	 export SOURCE_DATE_EPOCH=$$(git log -1 --format=%ct) VERSION='$(VERSION)'; \
	 pids=; \
	 for target in amd64:amd64 arm64:arm64 arm:arm7; do \
	   BINARY=$${target%%:*} ARCH=$${target#*:} go run $(NFPM) package --config deploy/package/nfpm.yaml --packager deb --target bin/packages/ & \
	   pids="$$pids $$!"; \
	 done; \
	 for pid in $$pids; do wait $$pid; done
	DRAWBAR_PACKAGES=$$PWD/bin/packages go test -count=1 -run '^TestPackage' $(TESTFLAGS) ./deploy

.PHONY: same
same: ## recorded bytes under emulated arm64 and armv7: the same on every processor
	@missing=$$(for q in qemu-aarch64-static qemu-arm-static; do command -v $$q >/dev/null || echo $$q; done); \
	 if [ -n "$$missing" ]; then \
	   echo "no" $$missing": install qemu-user-static to compare results across processors"; \
	   [ "$${CI:-}" != true ] && exit 0 || exit 1; \
	 fi; \
	 list=$$($(call golden_list,$(SAME))); \
	 [ -n "$$list" ] || { echo "no tests that call testkit.Golden found"; exit 1; }; \
	 root=$$PWD; mkdir -p bin/same; \
	 for machine in arm64:qemu-aarch64-static arm:qemu-arm-static; do \
	   while read -r dir names; do \
	     bin=$$root/bin/same/$${machine%%:*}-$${dir//\//-}.test; \
	     CGO_ENABLED=0 GOOS=linux GOARCH=$${machine%%:*} GOARM=7 go test -trimpath -c -o $$bin ./$$dir; \
	     log=$$(cd $$dir && $${machine#*:} $$bin -test.run "^($$names)\$$" -test.v 2>&1 </dev/null) || { echo "$$log"; echo "$$dir on $${machine%%:*}: differs"; exit 1; }; \
	     passed=$$(grep -c '^--- PASS' <<<"$$log" || true); \
	     [ "$$passed" -gt 0 ] || { echo "$$log"; echo "$$dir on $${machine%%:*}: no test ran"; exit 1; }; \
	     echo "$$dir on $${machine%%:*}: $$passed tests, same bytes"; \
	   done <<<"$$list"; \
	 done

.PHONY: ci
ci: web-test client test browser packages same ## what continuous integration runs: page, API client, tests, browser, packages (with cross), same and a short fuzz
	$(MAKE) fuzz FUZZTIME=3000x
