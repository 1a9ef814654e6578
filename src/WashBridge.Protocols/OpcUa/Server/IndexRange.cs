using System.Globalization;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>A part of an array, matrix, string or byte string, such as <c>0:9</c> or <c>1,0:3</c> (OPC 10000-4, 7.27).</summary>
internal sealed class IndexRange
{
    private const int MaxDimensions = 16;

    private readonly (int Low, int High)[] ranges;

    private IndexRange((int Low, int High)[] ranges) => this.ranges = ranges;

    /// <summary>Null or empty text is no range: all of the value.</summary>
    /// <returns>False: not of that form.</returns>
    public static bool TryParse(string? text, out IndexRange? range)
    {
        range = null;
        if (string.IsNullOrEmpty(text))
        {
            return true;
        }

        var parts = text.Split(',', MaxDimensions + 1);
        var ranges = new (int Low, int High)[parts.Length];
        for (var i = 0; i < parts.Length; i++)
        {
            if (i == MaxDimensions || !TryParsePart(parts[i], out ranges[i]))
            {
                return false;
            }
        }

        range = new IndexRange(ranges);
        return true;
    }

    /// <summary>
    /// The part of the value within the range: less than asked for where the value ends before, BadIndexRangeNoData where it has nothing
    /// there or cannot be cut so.
    /// </summary>
    public StatusCode Apply(Variant value, out Variant part)
    {
        part = default;
        return value switch
        {
            { IsArray: false, Type: BuiltInType.String } when ranges.Length == 1 => Cut(value.Content as string, 0, out part),
            { IsArray: false, Type: BuiltInType.ByteString } when ranges.Length == 1 => Cut(value.Content as byte[], 0, out part),
            { IsArray: true, Dimensions: { } dimensions } when dimensions.Count == ranges.Length => CutMatrix(value, dimensions, out part),
            { IsArray: true, Dimensions: null } when ranges.Length == 1 => CutArray(value, out part),
            { IsArray: true, Dimensions: null, Type: BuiltInType.String or BuiltInType.ByteString } when ranges.Length == 2 => CutElements(value, out part),
            _ => StatusCodes.BadIndexRangeNoData,
        };
    }

    /// <summary>A number, or a smaller and a greater one.</summary>
    private static bool TryParsePart(string text, out (int Low, int High) range)
    {
        range = default;
        var colon = text.IndexOf(':', StringComparison.Ordinal);
        if (!int.TryParse(colon < 0 ? text : text.AsSpan(0, colon), NumberStyles.None, CultureInfo.InvariantCulture, out range.Low))
        {
            return false;
        }

        range.High = range.Low;
        return colon < 0
            || (int.TryParse(text.AsSpan(colon + 1), NumberStyles.None, CultureInfo.InvariantCulture, out range.High) && range.Low < range.High);
    }

    /// <summary>How many of the elements of a dimension are within its range.</summary>
    private int Within(int dimension, int length) => Math.Max(0, Math.Min(ranges[dimension].High, length - 1) - ranges[dimension].Low + 1);

    private StatusCode Cut(string? text, int dimension, out Variant part)
    {
        var count = Within(dimension, text?.Length ?? 0);
        part = count == 0 ? default : text!.Substring(ranges[dimension].Low, count);
        return count == 0 ? StatusCodes.BadIndexRangeNoData : StatusCodes.Good;
    }

    private StatusCode Cut(byte[]? bytes, int dimension, out Variant part)
    {
        var count = Within(dimension, bytes?.Length ?? 0);
        part = count == 0 ? default : Variant.ByteString(bytes!.AsSpan(ranges[dimension].Low, count).ToArray());
        return count == 0 ? StatusCodes.BadIndexRangeNoData : StatusCodes.Good;
    }

    private StatusCode CutArray(Variant value, out Variant part)
    {
        part = default;
        var count = Within(0, value.Elements!.Length);
        if (count == 0)
        {
            return StatusCodes.BadIndexRangeNoData;
        }

        var elements = Array.CreateInstance(value.Elements.GetType().GetElementType()!, count);
        Array.Copy(value.Elements, ranges[0].Low, elements, 0, count);
        part = Variant.FromArray(value.Type, elements, null);
        return StatusCodes.Good;
    }

    /// <summary>The second range is of the strings within an array of them.</summary>
    private StatusCode CutElements(Variant value, out Variant part)
    {
        if (CutArray(value, out part).IsBad)
        {
            return StatusCodes.BadIndexRangeNoData;
        }

        var elements = part.Elements!;
        var any = false;
        for (var i = 0; i < elements.Length; i++)
        {
            var status = elements is string?[] texts ? Cut(texts[i], 1, out var cut) : Cut(((byte[]?[])elements)[i], 1, out cut);
            elements.SetValue(cut.Content, i);
            any |= status.IsGood;
        }

        part = any ? part : default;
        return any ? StatusCodes.Good : StatusCodes.BadIndexRangeNoData;
    }

    private StatusCode CutMatrix(Variant value, IReadOnlyList<int> dimensions, out Variant part)
    {
        part = default;
        var lengths = new int[dimensions.Count];
        var total = 1;
        for (var i = 0; i < lengths.Length; i++)
        {
            total *= lengths[i] = Within(i, dimensions[i]);
        }

        if (total == 0)
        {
            return StatusCodes.BadIndexRangeNoData;
        }

        var elements = Array.CreateInstance(value.Elements!.GetType().GetElementType()!, total);
        var rowLength = lengths[^1];
        for (var row = 0; row < total / rowLength; row++)
        {
            Array.Copy(value.Elements, RowStart(row, lengths, dimensions), elements, row * rowLength, rowLength);
        }

        part = Variant.FromArray(value.Type, elements, lengths);
        return StatusCodes.Good;
    }

    /// <summary>Where the row with this number, counted among those within the range, begins in the whole matrix.</summary>
    private int RowStart(int row, int[] lengths, IReadOnlyList<int> dimensions)
    {
        var start = 0;
        var stride = dimensions[^1];
        for (var i = lengths.Length - 2; i >= 0; i--)
        {
            start += (ranges[i].Low + (row % lengths[i])) * stride;
            row /= lengths[i];
            stride *= dimensions[i];
        }

        return start + ranges[^1].Low;
    }
}
