using System.Collections.Immutable;
using WashBridge.Core.Records;

namespace WashBridge.Orders;

/// <summary>What was done to baths and found in them.</summary>
internal static partial class Telling
{
    public static readonly ImmutableArray<string> Baths = ["caustic", "acid", "sanitiser"];

    /// <summary>Units of strength (UCUM), each with the most that a bath can plausibly have: more is a slip of the pen. Common practice, no source.</summary>
    public static readonly ImmutableArray<(string Unit, double Most)> Strengths = [("%", 100), ("g/L", 1_500), ("mg/L", 100_000), ("mol/L", 50)];

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static TitrationRecorded Titration(ToldTitration told, IReadOnlyList<KnownWasher> washers, DateTimeOffset now, Teller? teller = null)
    {
        var washer = TellingChecks.Washer(told.Washer, washers);
        var bath = Baths[TellingChecks.OneOf("bath", told.Bath, Baths)];
        var (unit, most) = Strengths[TellingChecks.OneOf("unit", told.Unit, [.. Strengths.Select(s => s.Unit)])];
        if (told.Strength is not { } strength || !(strength >= 0 && strength <= most))
        {
            throw new TellingException(FormattableString.Invariant($"strength: found {(told.Strength is { } found ? $"{found} {unit}" : "nothing")}; allowed: 0 to {most} {unit}"));
        }

        teller?.Require(Role.Operator, "recording a titration");
        var at = TellingChecks.At(told.At, now);
        return new TitrationRecorded
        {
            Id = $"{washer.Id}/titration/{bath}/{at.Latest}",
            Washer = washer.Id,
            At = at,
            Act = TellingChecks.Act(told.By, told.Reason, now, teller),
            Bath = bath,
            Strength = strength,
            Unit = unit,
            Method = TellingChecks.Note("method", told.Method),
        };
    }

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static BathChanged BathChange(ToldBathChange told, IReadOnlyList<KnownWasher> washers, DateTimeOffset now, Teller? teller = null)
    {
        var washer = TellingChecks.Washer(told.Washer, washers);
        var bath = Baths[TellingChecks.OneOf("bath", told.Bath, Baths)];
        teller?.Require(Role.Operator, "recording a change of a bath");
        var at = TellingChecks.At(told.At, now);
        return new BathChanged
        {
            Id = $"{washer.Id}/bath-change/{bath}/{at.Latest}",
            Washer = washer.Id,
            At = at,
            Act = TellingChecks.Act(told.By, told.Reason, now, teller),
            Bath = bath,
        };
    }
}
