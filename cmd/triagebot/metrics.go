package main

import (
	"context"
	"errors"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/desk"
)

// metrics are what /metrics tells. No label holds anything of an owner's: no
// words, no handle, no name of a conversation.
type metrics struct {
	registry *prometheus.Registry
	took     prometheus.Histogram
	sent     *prometheus.CounterVec
	turns    *prometheus.CounterVec
}

func newMetrics() *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		took: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "triagebot_turn_seconds", Help: "How long a message's turn took until it was durable.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10},
		}),
		sent: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "triagebot_sent_total", Help: "Attempts to hand a message to the chat, by what came of them: done, again (retried) or refused (for good).",
		}, []string{"result"}),
		turns: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "triagebot_turns_total", Help: "Turns kept, by where the talk stood after them.",
		}, []string{"phase"}),
	}
	for _, result := range []string{"done", "again", "refused"} {
		m.sent.WithLabelValues(result) // shown as 0 before the first
	}
	m.registry.MustRegister(m.took, m.sent, m.turns,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func (m *metrics) Took(d time.Duration) { m.took.Observe(d.Seconds()) }

// happened counts turns and tells the feed.
func (m *metrics) happened(feed *desk.Feed) func(store.Turn, store.Committed) {
	return func(t store.Turn, done store.Committed) {
		m.turns.WithLabelValues(string(t.Phase)).Inc()
		feed.Turn(t, done)
	}
}

// counted counts what a chat makes of what it is handed.
type counted struct {
	to turns.Sender
	m  *metrics
}

func (c counted) Send(ctx context.Context, o store.Outgoing) error {
	err := c.to.Send(ctx, o)
	result := "done"
	if permanent := (*turns.PermanentError)(nil); errors.As(err, &permanent) {
		result = "refused"
	} else if err != nil {
		result = "again"
	}
	c.m.sent.WithLabelValues(result).Inc()
	return err
}

// standing reads gauges when they are asked for.
type standing struct {
	store *store.Store
	desk  *desk.Desk
}

var (
	descOutbox  = prometheus.NewDesc("triagebot_outbox", "Messages that the chat has not taken yet, those refused for good among them.", nil, nil)
	descTalks   = prometheus.NewDesc("triagebot_talks", "Conversations in the store.", nil, nil)
	descOpen    = prometheus.NewDesc("triagebot_open_talks", "Conversations that the bot leads, as of the last look at what is due.", nil, nil)
	descCases   = prometheus.NewDesc("triagebot_cases", "Cases by state.", []string{"state"}, nil)
	descSlowed  = prometheus.NewDesc("triagebot_slowed_total", "Messages that had no turn because of a limit.", nil, nil)
	descFailing = prometheus.NewDesc("triagebot_store_failed", "1 when the store takes nothing more because the disk failed.", nil, nil)
)

func (s standing) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descOutbox, descTalks, descOpen, descCases, descSlowed, descFailing} {
		to <- d
	}
}

func (s standing) Collect(to chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v uint64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, float64(v), labels...)
	}
	failed := uint64(0)
	select {
	case <-s.store.Failed():
		failed = 1
	default:
	}
	gauge(descFailing, failed)
	to <- prometheus.MustNewConstMetric(descSlowed, prometheus.CounterValue, float64(s.desk.Slowed()))
	gauge(descOpen, uint64(s.desk.Open()))
	f, err := s.store.Figures()
	if err != nil { // stopping
		return
	}
	gauge(descOutbox, f.Outgoing)
	gauge(descTalks, f.Conversations)
	gauge(descCases, f.Waiting, string(store.Waiting))
	gauge(descCases, f.Taken, string(store.Taken))
	gauge(descCases, f.Closed, string(store.Closed))
}
