# Versions of the tools that the Makefile builds. Change them here and nowhere else.
GOLANGCI_LINT_VERSION := v2.15.0
