# Versions of the tools that the Makefile builds. Change them here and nowhere else.
GOLANGCI_LINT_VERSION := v2.15.0
NFPM_VERSION := v2.45.2
CYCLONEDX_GOMOD_VERSION := v1.10.0
GOTESTSUM_VERSION := v1.13.0
GOVULNCHECK_VERSION := v1.9.0
