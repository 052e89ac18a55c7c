// Package plot is one small vector plot with two writers, SVG and PDF.
package plot
