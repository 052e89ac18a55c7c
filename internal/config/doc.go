// Package config merges defaults, file, environment and flags, in that order, strictly.
package config
