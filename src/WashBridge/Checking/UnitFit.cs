using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Importing;

namespace WashBridge.Checking;

/// <summary>Whether scale and offset of a tag bring the server's unit to the signal's. Pure.</summary>
internal static class UnitFit
{
    /// <summary>Null: they do, as far as is known.</summary>
    /// <param name="unit">As the server writes it; empty: it tells none.</param>
    public static string? Note(Tag tag, string unit)
    {
        var wanted = tag.Signal.Unit;
        if (unit.Length == 0 || tag.Signal.Type != SignalType.Quantity || wanted.Length == 0 || string.Equals(unit, wanted, StringComparison.OrdinalIgnoreCase))
        {
            return null;
        }

        if (UnitCell.Read(unit, wanted).Value is not { } step)
        {
            return tag is { Scale: 1, Offset: 0 } ? $"the server says {unit}, the signal is kept in {wanted}: work out scale and offset" : null;
        }

        return IsNear(tag.Scale, step.Factor) && IsNear(tag.Offset, step.Offset)
            ? null
            : string.Create(CultureInfo.InvariantCulture, $"the server says {unit}, the signal is kept in {wanted}: {(step.Offset == 1.01325 ? "if it counts from the atmosphere, " : "")}scale: {step.Factor:G7}, offset: {step.Offset:G7} leads there; found scale: {tag.Scale:G7}, offset: {tag.Offset:G7}");
    }

    private static bool IsNear(double found, double wanted) => Math.Abs(found - wanted) <= 0.001 * Math.Max(1, Math.Abs(wanted));
}
