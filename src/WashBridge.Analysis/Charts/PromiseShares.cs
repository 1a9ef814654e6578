namespace WashBridge.Analysis.Charts;

/// <summary>Shares the promise among the charts. How many figures share it is known after the first reference, and better whenever the cycles have doubled.</summary>
internal sealed class PromiseShares(WatchedFigures figures, Budget budget)
{
    public int Cycles { get; private set; }

    /// <summary>At so many cycles it is shared anew.</summary>
    public int NextCount { get; private set; } = ChartReference.Least;

    /// <summary>Values of one figure's chart for one false alarm.</summary>
    public double FiguresEvery { get; private set; }

    /// <summary>The same of a difference from peers.</summary>
    public double PeersEvery { get; private set; }

    /// <summary>A cycle has been taken. True: it was shared anew.</summary>
    public bool Count()
    {
        Cycles++;
        if (Cycles == NextCount)
        {
            NextCount *= 2;
            Share();
            return true;
        }

        if (Cycles > ChartReference.Least)
        {
            ShareWithNewcomers();
        }

        return false;
    }

    public void Load(int cycles, int nextCount, double figuresEvery, double peersEvery) =>
        (Cycles, NextCount, FiguresEvery, PeersEvery) = (cycles, nextCount, figuresEvery, peersEvery);

    private void Share()
    {
        var (ofFigures, ofPeers) = (budget.OfFigures(EachCycle(isPeers: false)), budget.OfPeers(EachCycle(isPeers: true)));
        (FiguresEvery, PeersEvery) = (ofFigures.Every, ofPeers.Every);
        foreach (var figure in figures.All)
        {
            figure.Chart.Promise(figure.IsPeers ? ofPeers : ofFigures);
        }
    }

    private void ShareWithNewcomers()
    {
        foreach (var figure in figures.All)
        {
            if (figure.Chart.FalseAlarmEvery is null)
            {
                figure.Chart.Promise(budget.Design(figure.IsPeers ? PeersEvery : FiguresEvery));
            }
        }
    }

    private double EachCycle(bool isPeers) => figures.All.Where(f => f.IsPeers == isPeers).Sum(f => f.Values) / (double)Cycles;
}
