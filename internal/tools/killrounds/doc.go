// Command killrounds kills a program that is writing holds, again and again, and
// looks at what is left.
//
//	go run ./internal/tools/killrounds -rounds 20 -seed 1
//
// Each round starts this program again as a child. The child feeds a gauge of
// 100 Hz and one of 1 kHz in real time through the ledger's writer and says on
// standard output how many readings it has handed over. It is killed with SIGKILL
// at a random moment within a hold. Then the ledger is checked, the next writer ends
// the interrupted holds, and the readings kept are compared with those handed over:
// at most the last second may be missing, and nothing that was acknowledged. The
// exit status is 1 if a round breaks this.
package main
