// Package dossier makes the bundle for a warranty desk: plots, report, signature, and its verification.
package dossier
