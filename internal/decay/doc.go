// Package decay turns one hold into one leakage rate with its uncertainty.
package decay
