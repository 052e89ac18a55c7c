// Package rig computes what is known of the rig: blank, volume, calibration of the gauge
// and reference-leak checks. It computes only; guided procedures belong to bench.
package rig
