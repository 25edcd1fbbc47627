package main

import (
	"os"

	"tipwright/outbox/shop"
	"tipwright/outbox/shop/apart"
)

// workerCommand is the program as its own worker, which makes one delivery; people have no use for it.
type workerCommand struct {
	Store string `arg:"" help:"Where what was measured waits for its pair."`
}

// Run makes the delivery that is asked for on standard input.
func (c workerCommand) Run(s setting) error {
	return apart.Work(s.stdin, s.stdout, maker{sideStore(c.Store)})
}

// processor returns what makes the deliveries, each in a process of its own, and what is to be called when
// they are made. Scratch is a folder that the caller may lose.
func (s setting) processor(scratch string) (shop.Processor, func(), error) {
	self, err := apart.Self("worker", scratch)
	if err != nil {
		return nil, nil, err
	}
	m := maker{sideStore(scratch)}
	end := func() { _ = os.RemoveAll(scratch) }
	if !s.apart {
		return m, end, nil
	}
	return apart.Processor{Processor: m, Worker: self}, end, nil
}
