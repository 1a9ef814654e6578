using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Alarms;

/// <summary>Which part a forecast's first cause is of: where figures tell of two parts, the alarm is that part's.</summary>
internal static class CauseOwner
{
    /// <summary>A cause that fits no better than the others together settles nothing.</summary>
    private const double LeastWeight = 0.5;

    /// <returns>The key of another part than the forecast's, at the same station or bath; null: the cause is its own, of no part, or not clear.</returns>
    public static string? OtherThan(Forecast forecast)
    {
        if (forecast.Causes is not [{ Weight: >= LeastWeight } first, ..] || KindOf(first.Name) is not { } kind)
        {
            return null;
        }

        var owner = (forecast.Component with { Kind = kind }).Key;
        return owner == forecast.Component.Key ? null : owner;
    }

    private static ComponentKind? KindOf(string cause) => cause switch
    {
        "clogging-valve" => ComponentKind.DrainValve,
        "sticking-sensor" => ComponentKind.DrainSensor,
        "dosing-tube" => ComponentKind.DosingTube,
        "check-valve" => ComponentKind.DosingCheckValve,
        "weak-bath" => ComponentKind.Bath,
        _ => null,
    };
}
