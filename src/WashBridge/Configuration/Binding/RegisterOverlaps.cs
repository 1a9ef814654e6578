using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>
/// Two values that share registers without being the same ones: one of the addresses or types is wrong. Single bits may lie within a
/// status word that is mapped too.
/// </summary>
internal static class RegisterOverlaps
{
    public static void Check(IReadOnlyList<BoundTag> tags)
    {
        Mapped? widest = null;
        foreach (var next in tags.Select(Of).OfType<Mapped>().Where(m => m.Point.Type != RegisterType.Bit).OrderBy(m => m.Point.Table).ThenBy(m => m.Point.Address))
        {
            if (widest is not null && widest.Point.Table == next.Point.Table && widest.End > next.Point.Address)
            {
                Report(widest, next);
            }

            widest = widest is not null && widest.Point.Table == next.Point.Table && widest.End > next.End ? widest : next;
        }
    }

    private static void Report(Mapped first, Mapped second)
    {
        if (first.Point.Address != second.Point.Address || first.End != second.End)
        {
            second.Tag.Map.Problems.Add(
                second.Tag.Map.PlaceOf("address"),
                $"this overlaps {first.Tag.Tag.Signal}, which takes {RegisterCodec.Width(first.Point)} registers (line {first.Tag.Map.Place.Line})",
                $"{Names.NameOf(second.Point.Type)} at protocol address {second.Point.Address}",
                $"an address outside {first.Point.Address} to {first.End - 1}, or another type");
        }
    }

    private static Mapped? Of(BoundTag tag) => tag.Tag.Source is ModbusSource source ? new Mapped(tag, source.Point) : null;

    private sealed record Mapped(BoundTag Tag, ModbusPoint Point)
    {
        public int End => Point.Address + RegisterCodec.Width(Point);
    }
}
