# The targets a contributor needs; DEVELOPERS.md says when.

GO ?= go
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null || echo development)
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2
GOLANGCI = github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0

# Packages that start goroutines, and FIT, whose library holds state; the race
# detector runs on these. pkg/format reads the other formats side by side.
RACE = ./pkg/format ./pkg/format/nmea ./pkg/format/fit ./pkg/cache ./pkg/session ./pkg/archive ./pkg/web

.PHONY: build test demo bench benchmarks accuracy calibration lint format race update-goldens clean

build:
	$(GO) build -trimpath -ldflags "-X main.version=$(VERSION)" -o bin/fromrest ./cmd/fromrest

demo:
	$(GO) run ./cmd/fromrest demo -o demo

test: format lint
	$(GO) test ./...
	@$(MAKE) --no-print-directory race

format:
	@files=$$(gofmt -l cmd pkg); if [ -n "$$files" ]; then echo "gofmt these files:"; echo "$$files"; exit 1; fi

lint:
	$(GO) mod tidy -diff
	$(GO) vet ./...
	@if $(GO) run $(STATICCHECK) -version >/dev/null 2>&1; then \
		echo "staticcheck ./..."; $(GO) run $(STATICCHECK) ./...; \
	else echo "staticcheck: skipped, it could not be fetched"; fi
	@if $(GO) run $(GOLANGCI) version >/dev/null 2>&1; then \
		echo "golangci-lint run ./..."; $(GO) run $(GOLANGCI) run ./...; \
	else echo "golangci-lint: skipped, it could not be fetched"; fi

race:
	@if [ "$$($(GO) env CGO_ENABLED)" = 1 ] && command -v "$$($(GO) env CC | cut -d' ' -f1)" >/dev/null; then \
		$(GO) test -race -short $$(for p in $(RACE); do if ls $$p/*.go >/dev/null 2>&1; then echo $$p; fi; done); \
	else echo "race detector: skipped, it needs a C compiler"; fi

# What reading a log costs, beside other readers where they are installed; writes
# docs/performance.md. Logs of up to 1000 MB are written and deleted. Parsers of
# Node are found through NODE_PATH.
bench:
	$(GO) test ./pkg/bench -run TestPerformance -v -count 1 -timeout 60m -args -performance.doc=../../docs/performance.md

# Ratios of single parts, and what twice the input costs in time.
benchmarks:
	$(GO) test -run '^$$' -bench . -benchtime 1s ./...

# Error of the reported times on simulated launches of known truth.
accuracy:
	$(GO) test ./pkg/worlds -run TestWorlds -v -timeout 60m -args -worlds.sessions=12 -worlds.doc=../../docs/accuracy.md
	$(GO) test ./pkg/motion/timing -run TestAccuracy -v -timeout 60m -args -accuracy.runs=1001 -accuracy.doc=../../../docs/accuracy-home.md
	$(GO) test ./pkg/session -run TestFusedAccuracy -v -timeout 60m -args -fused.sessions=252 -fused.doc=../../docs/accuracy-home.md

# How often identical modes are called different, and real differences found.
calibration:
	$(GO) test ./pkg/session/compare/contrast -run 'TestCalibration|TestHardCells|TestPower|TestEquality|TestPlanIs|TestUnequal' -v -timeout 60m -args -calibration.full

# Rewrite the expected outputs after a change that is meant; look at the diff.
update-goldens:
	$(GO) test ./pkg -run 'Priors|Sentences' -update
	$(GO) test ./pkg/report -update
	$(GO) test ./pkg/synth -run TestFixtures -update
	$(GO) test ./cmd/fromrest -run 'TestScripts|TestDocuments' -update

clean:
	rm -rf bin demo out
