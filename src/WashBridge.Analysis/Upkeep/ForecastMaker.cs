using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Forecasting;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep;

/// <summary>Makes the forecast of one part from its indices, and from what the site knows of such parts' lives.</summary>
internal sealed class ForecastMaker(IndexLimits limits)
{
    private const int LeastBlocks = 6;

    /// <summary>
    /// A trend begins to count where it hardly is chance and surely goes towards the limit. A rough path rarely passes a test of trend; far from the
    /// reference its direction is enough. It stops to count only where the direction is lost: no flutter between.
    /// </summary>
    private const double ByChance = 0.001;
    private const double BeginsAbove = 0.97;
    private const double SurelyAbove = 0.985;
    private const double FarWay = 0.1;
    private const double StopsBelow = 0.7;

    /// <summary>Cycles: what is farther away is no reason to do anything, and rather a season than wear.</summary>
    private const double Farthest = 10_000;

    /// <summary>Spreads by which an unlucky cycle is off, and what that comes to at least and at most, as a share of the limit; chosen on simulated washers.</summary>
    private const double Unlucky = 2;
    private const double LeastUnlucky = 0.12;
    private const double MostUnlucky = 0.2;

    /// <summary>Before less of the way to the limit is gone, nothing is said.</summary>
    private const double LeastWay = 0.04;

    /// <summary>What one index says.</summary>
    private sealed record Opinion(ForecastState State, string Index, HealthIndex Kind, double? Now, double? Limit, string LimitSource, WearOutlook? Outlook);

    /// <param name="track">The part.</param>
    /// <param name="drainIndex">Recent drain index of its station; 1 for others.</param>
    /// <param name="lives">Lives of such parts at this site.</param>
    /// <param name="pace">Tells the calendar time.</param>
    /// <param name="now">End of the latest cycle.</param>
    public Forecast Make(ComponentTrack track, double drainIndex, IReadOnlyList<Lifetime> lives, CyclePace pace, Instant now)
    {
        var opinions = HealthIndex.All
            .Where(k => k.Kind == track.Component.Kind && track.Indices.ContainsKey(k.Name))
            .Select(k => Judge(track, k, track.Indices[k.Name], drainIndex))
            .ToList();
        var speaks = opinions.OrderByDescending(o => o.State).ThenBy(o => o.Outlook?.Median ?? double.PositiveInfinity).FirstOrDefault();
        if (speaks is null)
        {
            return Unknown(track);
        }

        var life = speaks.State is ForecastState.NoTrend ? ByUse(track, lives) : null;
        var (median, lower, upper) = Left(speaks, life, track);
        return new Forecast
        {
            Component = track.Component,
            State = speaks.State,
            Index = speaks.Index,
            Unit = speaks.Kind.Unit,
            Now = Rounded(speaks.Now),
            Limit = Rounded(speaks.Limit),
            LimitSource = speaks.LimitSource,
            Slope = Rounded(speaks.Outlook?.Slope * 1000),
            SlopeUncertainty = Rounded(speaks.Outlook?.SlopeUncertainty * 1000),
            CyclesLeft = median,
            CyclesLeftLower = lower,
            CyclesLeftUpper = upper,
            Due = pace.After(now, median),
            DueEarliest = pace.After(now, lower),
            DueLatest = pace.After(now, upper),
            Cycles = track.Cycles,
            Evidence = ForecastWording.Evidence(speaks.State, speaks.Kind, speaks.Now, speaks.Limit, speaks.LimitSource, speaks.Outlook, life, track),
        };
    }

    private static Forecast Unknown(ComponentTrack track) => new()
    {
        Component = track.Component,
        State = ForecastState.NotEnoughEvidence,
        Index = "",
        Unit = "",
        Cycles = track.Cycles,
        Evidence = ["nothing that tells of its health was measured yet"],
    };

    private Opinion Judge(ComponentTrack track, HealthIndex kind, IndexTrack index, double drainIndex)
    {
        var key = kind.KeyOf(track.Component);
        if (index.Series.Blocks.Count < LeastBlocks || index.Recent is not { } recent)
        {
            return new(ForecastState.NotEnoughEvidence, key, kind, index.Recent, null, "", null);
        }

        if (limits.Of(kind, track.Component, drainIndex) is not var (reference, limit, exactness, source))
        {
            return new(ForecastState.NotEnoughEvidence, key, kind, recent, null, "no limit is known", null);
        }

        if (kind == HealthIndex.Late)
        {
            // The unlucky drain of a cycle that is unlucky itself runs into the time-out, long before the usual one does.
            limit *= 1 - Math.Clamp(Unlucky * index.Spread / limit, LeastUnlucky, MostUnlucky);
        }

        if ((limit > reference) != kind.Rises || (exactness == 0 && (kind.Rises ? recent >= limit : recent <= limit)))
        {
            return new(ForecastState.Reached, key, kind, recent, limit, source, null);
        }

        var way = (recent - reference) / (limit - reference);
        if (!Moves(index, recent, reference, way)
            || WearForecaster.Forecast(new WearQuestion(index.Seen, reference, limit, track.Cycles, index.Exactness, exactness, kind.NaturalPower)) is not { } outlook)
        {
            return new(ForecastState.NoTrend, key, kind, recent, limit, source, null);
        }

        var was = track.State == ForecastState.Approaching;
        var isTrend = outlook.Median < Farthest && (was
            ? outlook.TowardsProbability > StopsBelow
            : outlook.TowardsProbability > BeginsAbove && (outlook.ChanceProbability < ByChance || (way > FarWay && outlook.TowardsProbability > SurelyAbove)));
        var state = outlook.ReachedProbability > 0.5 ? ForecastState.Reached : isTrend ? ForecastState.Approaching : ForecastState.NoTrend;
        return new(state, key, kind, outlook.Now, limit, source, state == ForecastState.NoTrend || (state == ForecastState.Reached && exactness == 0) ? null : outlook);
    }

    /// <summary>Whether it is worth a closer look: it stands out of the noise towards the limit, and went some of the way.</summary>
    private static bool Moves(IndexTrack index, double recent, double reference, double way)
    {
        var noise = 1.25 * index.Spread / Math.Sqrt(WearSeries.Finest * 5);
        return way > LeastWay && Math.Abs(recent - reference) > 3 * Math.Max(noise, index.Exactness);
    }

    private static (double?, double?, double?) Left(Opinion speaks, LifeByUse? life, ComponentTrack track)
    {
        if (speaks.Outlook is { } outlook)
        {
            // Of a limit that was learned one only knows that it was not met yet.
            return (Cycles(outlook.Median), speaks.State == ForecastState.Reached ? 0 : Cycles(outlook.Lower), Cycles(outlook.Upper));
        }

        if (speaks.State == ForecastState.Reached)
        {
            return (0, 0, 0);
        }

        if (life is null || track.UseCycles == 0)
        {
            return (null, null, null);
        }

        var perCycle = track.Use / track.UseCycles;
        return perCycle > 0 ? (Cycles(life.Median / perCycle), Cycles(life.Lower / perCycle), Cycles(life.Upper / perCycle)) : (null, null, null);
    }

    private static LifeByUse? ByUse(ComponentTrack track, IReadOnlyList<Lifetime> lives) =>
        track.IsAgeKnown && track.UseCycles > 0 ? LifeByUse.Of(lives, track.Use) : null;

    private static double? Cycles(double cycles) => double.IsFinite(cycles) ? Math.Round(Math.Max(0, cycles)) : null;

    private static double? Rounded(double? value) => value is { } v && double.IsFinite(v) ? double.Parse(v.ToString("G6")) : null;
}
