package extract

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"quoin/extract/classify"
	"quoin/extract/las"
	"quoin/extract/roof"
	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/scratch"
)

// evidence says of every point what the stages took it for, if that is asked
// for.
func (j *job) evidence(features []roof.Feature, parts []roof.Segmentation) (err error) {
	if j.o.Classified == "" {
		return nil
	}
	if j.points, err = scratch.Array[classify.Evidence](j.block.Store, j.block.Len()); err != nil {
		return err
	}
	for i := range j.points {
		if features[i].Loose() {
			j.points[i] = classify.Foliage
		}
	}
	for _, part := range parts {
		for k, i := range part.Points {
			switch part.Kinds[k] {
			case roof.Roof:
				j.points[i] = classify.OnRoof
			case roof.Vegetation:
				j.points[i] = classify.Foliage
			case roof.Deck:
				j.points[i] = classify.OnDeck
			case roof.Wall, roof.Clutter:
				j.points[i] = classify.BesideRoof
			case roof.Object:
				j.points[i] = classify.None
			}
		}
	}
	for i, ground := range j.isGround {
		if ground && j.points[i] == classify.None {
			j.points[i] = classify.OnGround
		}
	}
	return nil
}

// classified writes the points of all inputs with their classes.
func (j *job) classified(ctx context.Context) error {
	if j.o.Classified == "" {
		return nil
	}
	j.o.Progress.Start("classified", 0)
	files := make([]*las.File, len(j.files))
	for i, f := range j.files {
		files[i] = f.File
	}
	classes, err := scratch.Array[uint8](j.block.Store, j.block.Len())
	if err != nil {
		return err
	}
	err = each(ctx, j.o, len(j.block.Units()), func(i int) error {
		classify.ClassesInto(classes, j.block, j.hag, j.points, i)
		return nil
	})
	if err != nil {
		return err
	}
	l := classify.NewLabeller(j.block, classes)
	report, err := las.Relabel(ctx, files, j.o.Classified, las.RelabelOptions{
		Upgrade: j.o.UpgradeFormat, Workers: j.o.Workers,
		Define: func(c vector.CRS) (vector.CRS, error) {
			completed, _, err := crs.Complete(c)
			return completed, err
		},
	}, l.Label)
	if err != nil {
		return err
	}
	for _, note := range report.Notes {
		j.o.Log.Info(note)
	}
	lost := l.Counts[classify.BridgeDeck] + l.Counts[classify.HighNoise]
	if report.To < 6 && lost > 0 {
		j.record.warn(j.o, fmt.Sprintf("%d points of a bridge or of high noise are in classes 1 and 7, for point format %d has no others: --upgrade-format writes one that has", lost, report.To))
	}
	j.record.Classified = make(map[string]uint64)
	for class, n := range l.Counts {
		if n > 0 {
			j.record.Classified[strconv.Itoa(class)] = n
		}
	}
	return nil
}

// checkClassified refuses to write over an input.
func (o Options) checkClassified() error {
	if o.Classified == "" {
		return nil
	}
	there, err := os.Stat(o.Classified)
	for _, input := range o.Inputs {
		same := filepath.Clean(input) == filepath.Clean(o.Classified)
		if info, inErr := os.Stat(input); err == nil && inErr == nil {
			same = same || os.SameFile(there, info)
		}
		if same {
			return fmt.Errorf("--classified names the input %s: give another file", input)
		}
	}
	return nil
}
