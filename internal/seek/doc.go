// Package seek finds which seat of a joint leaks and proposes the most informative next move.
package seek
