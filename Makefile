# make demo | test | race | ci | release | try-deb | durable | bench | bench-datalog | confusion | lint | fuzz | crosscheck

include .ci/versions.mk

GO        ?= go
PYTHON    ?= /usr/bin/python3 # Debian's, which has python3-jsonschema
FUZZTIME  ?= 1m
CARS      ?= 100
GROWTH    ?= 500,2000,8000 # 50,000 is the long one
GROWN     ?= $(or $(TMPDIR),/tmp)/grown
SHOP      ?= $(or $(TMPDIR),/tmp)/invented-shop-$(CARS)
PLATFORMS := linux/amd64 linux/arm64 windows/amd64 windows/arm64 darwin/amd64 darwin/arm64

CACHE     ?= $(or $(XDG_CACHE_HOME),$(HOME)/.cache)/feedproof
NFPM      := $(CACHE)/nfpm-$(NFPM_VERSION)/nfpm
GOTESTSUM := $(CACHE)/gotestsum-$(GOTESTSUM_VERSION)/gotestsum
VULNCHECK := $(CACHE)/govulncheck-$(GOVULNCHECK_VERSION)/govulncheck
SBOM      := $(CACHE)/cyclonedx-gomod-$(CYCLONEDX_GOMOD_VERSION)/cyclonedx-gomod
RELEASE   ?= build/release
ONLY      ?= # one platform of a release, such as linux-amd64
KEY       ?= # SSH key that signs a release
LINT      := $(CACHE)/golangci-lint-$(GOLANGCI_LINT_VERSION)/golangci-lint

.NOTPARALLEL:
.PHONY: programs demo test race vulnerable ci release try-deb twice durable bench growth shop questions bench-datalog confusion lint fuzz crosscheck gofmt tidy vet generated platforms fuzz-short formats

demo: ## an invented shop, one car from intake to sign-off
	$(GO) run ./cmd/feedproof demo

test: programs $(GOTESTSUM) ## every test, a package a line as it ends; processes are killed 30 times each
	$(GOTESTSUM) --format pkgname-and-test-fails -- -timeout 30m ./...

race: programs ## every test with the race detector; processes are killed 100 times each
	FEEDPROOF_WHOLE=1 $(GO) test -race -timeout 45m ./...

programs: ## what the tests hold ours against: git, OpenSSH, Chromium ...
	@.ci/programs.sh

# Cheap checks first; the tests last, so that their summary ends the output.
ci: programs gofmt tidy vet lint generated platforms formats vulnerable fuzz-short race

durable: ## kill, cut off and fill up the store, 1,000 times each
	FEEDPROOF_LONG=1 $(GO) test -count=1 -timeout 4h -v -run 'Killed|Breaking|PowerCut|Lock|Clock|Full|ReadOnly|AtOnce|Beside' ./records/...

release: $(NFPM) $(SBOM) ## what people install, of the commit: archives, packages, SHA256SUMS, in the folder RELEASE; KEY signs
	$(GO) run ./cmd/dev release -out "$(RELEASE)" -only "$(strip $(ONLY))" -key "$(strip $(KEY))" -nfpm $(NFPM) -sbom $(SBOM)

twice: $(NFPM) $(SBOM) ## two clones in folders of their own make the same bytes
	.ci/twice.sh $(NFPM) $(SBOM) $(strip $(ONLY))

try-deb: ## the package of RELEASE installs, runs and goes again on a bare Debian
	.ci/try-deb.sh $(RELEASE)

bench: ## every benchmark, with ratios, and start-up
	$(GO) run ./cmd/dev bench

confusion: ## faults of over 200 random cars against what their logs are named
	FEEDPROOF_LONG=1 $(GO) test -count=1 -v -run 'Confusion|TestPredictedNames' ./checklist/datalog ./checklist

bench-datalog: ## a log of 600,000 rows beside encoding/csv, Miller and awk
	$(GO) test -run '^$$' -bench AnalyseBeside -benchtime 5x ./checklist/datalog

shop: ## an invented shop of CARS cars in a new folder SHOP, for trying and measuring
	$(GO) run ./cmd/dev invent -cars $(CARS) -dir $(SHOP)

questions: ## the questions over 2,000 cars, answered a second time in Python; FEEDPROOF_INVENTED names a shop that is there
	FEEDPROOF_LONG=1 $(GO) test -count=1 -timeout 3h -run QuestionsFromOutside -v ./cmd/feedproof

growth: ## answers, memory and disk from 500 cars up, as a table; GROWTH=500,2000,... in the folder GROWN
	$(GO) build -o $(CACHE)/feedproof-measured ./cmd/feedproof
	$(GO) run ./cmd/dev growth -dir $(GROWN) -cars $(GROWTH) -program $(CACHE)/feedproof-measured

lint: $(LINT)
	$(LINT) run ./...

$(LINT):
	GOFLAGS= GOBIN=$(@D) $(GO) install github.com/golangci/golangci-lint/v2/cmd/golangci-lint@$(GOLANGCI_LINT_VERSION)

$(NFPM):
	GOFLAGS= GOBIN=$(@D) $(GO) install github.com/goreleaser/nfpm/v2/cmd/nfpm@$(NFPM_VERSION)

$(SBOM):
	GOFLAGS= GOBIN=$(@D) $(GO) install github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@$(CYCLONEDX_GOMOD_VERSION)

$(GOTESTSUM):
	GOFLAGS= GOBIN=$(@D) $(GO) install gotest.tools/gotestsum@$(GOTESTSUM_VERSION)

$(VULNCHECK):
	GOFLAGS= GOBIN=$(@D) $(GO) install golang.org/x/vuln/cmd/govulncheck@$(GOVULNCHECK_VERSION)

vulnerable: $(VULNCHECK) ## no module that is linked has a known fault that the program reaches
	.ci/vulnerable.sh $(VULNCHECK)

fuzz: ## each fuzz target for FUZZTIME
	.ci/fuzz.sh $(FUZZTIME)

fuzz-short:
	.ci/fuzz.sh 3000x

crosscheck: ## the physics beside EPANET (npm) and fluids (Debian's python3-fluids)
	@$(PYTHON) -c 'import fluids' 2>/dev/null || .ci/install.sh python3-fluids
	@command -v npm >/dev/null || .ci/install.sh npm
	$(GO) test -count=1 -tags crosscheck -v ./checklist/fuel/crosscheck

gofmt:
	@bad=$$(gofmt -l .); test -z "$$bad" || { echo "not gofmt'ed (run gofmt -w):"; echo "$$bad"; exit 1; }

tidy: ## go.mod names what is imported, and no more
	@$(GO) mod tidy -diff || { echo "go.mod or go.sum is not tidy (run go mod tidy)"; exit 1; }

vet:
	$(GO) vet ./...

generated: ## generated files are what go generate writes
	.ci/generated.sh

platforms: ## builds everywhere without cgo
	@for p in $(PLATFORMS); do \
		echo "build $$p"; \
		CGO_ENABLED=0 GOOS=$${p%/*} GOARCH=$${p#*/} $(GO) build ./... || exit 1; \
	done

formats: ## frozen records against the schemas, by another validator than ours
	$(PYTHON) testdata/outside/validate_formats.py
