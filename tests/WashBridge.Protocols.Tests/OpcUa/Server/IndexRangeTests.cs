using CsCheck;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Parts of values (OPC 10000-4, 7.27).</summary>
public sealed class IndexRangeTests
{
    [Theory]
    [InlineData("1", "[11]")]
    [InlineData("0:1", "[10, 11]")]
    [InlineData("3:9", "[13, 14]")]
    [InlineData("5", null)]
    [InlineData("5:9", null)]
    [InlineData("0,0", null)]
    public void A_part_of_an_array(string range, string? expected) => Expect(range, Variant.ArrayOf([10, 11, 12, 13, 14]), expected);

    /// <summary>Rows 0 and 1 of three columns: 0 1 2 / 3 4 5.</summary>
    [Theory]
    [InlineData("0,0:2", "1 x 3: [0, 1, 2]")]
    [InlineData("0:1,1", "2 x 1: [1, 4]")]
    [InlineData("1,1:9", "1 x 2: [4, 5]")]
    [InlineData("2,0", null)]
    [InlineData("1", null)]
    public void A_part_of_a_matrix(string range, string? expected) => Expect(range, Variant.ArrayOf([0, 1, 2, 3, 4, 5], [2, 3]), expected);

    [Theory]
    [InlineData("0:3", "keg ")]
    [InlineData("4:99", "washer")]
    [InlineData("99", null)]
    public void A_part_of_a_string(string range, string? expected)
    {
        Assert.True(IndexRange.TryParse(range, out var parsed));
        Assert.Equal(expected is null, parsed!.Apply("keg washer", out var part) == StatusCodes.BadIndexRangeNoData);
        Assert.Equal(expected, part.Value);
    }

    [Fact]
    public void A_part_of_a_byte_string_and_of_the_strings_in_an_array()
    {
        Assert.True(IndexRange.TryParse("1:2", out var middle));
        Assert.True(middle!.Apply(Variant.ByteString([7, 8, 9]), out var bytes).IsGood);
        Assert.Equal(Variant.ByteString([8, 9]), bytes);
        Assert.True(IndexRange.TryParse("0:1,1", out var second));
        Assert.True(second!.Apply(Variant.ArrayOf<string?>(["abc", "x", "def"]), out var letters).IsGood);
        Assert.Equal(Variant.ArrayOf<string?>(["b", null]), letters);
        Assert.Equal(StatusCodes.BadIndexRangeNoData, second.Apply(Variant.ArrayOf<string?>(["", "x"]), out _));
    }

    [Theory]
    [InlineData("1:1")]
    [InlineData("2:1")]
    [InlineData("-1")]
    [InlineData(" 1")]
    [InlineData("1:")]
    [InlineData(":1")]
    [InlineData("1,")]
    [InlineData("a")]
    [InlineData("1:2:3")]
    [InlineData("99999999999")]
    [InlineData("0,0,0,0,0,0,0,0,0,0,0,0,0,0,0,0,0")]
    public void What_is_not_a_range(string text) => Assert.False(IndexRange.TryParse(text, out _));

    [Fact]
    public void A_number_has_no_parts()
    {
        Assert.True(IndexRange.TryParse("0", out var range));
        Assert.Equal(StatusCodes.BadIndexRangeNoData, range!.Apply(1.5, out _));
        Assert.Equal(StatusCodes.BadIndexRangeNoData, range.Apply(default, out _));
    }

    /// <summary>Against the plain reading of the clause: an element is there if each of its indexes is within its range.</summary>
    [Fact]
    public void The_parts_of_any_matrix_are_the_elements_within_the_ranges()
    {
        var dimension = Gen.Select(Gen.Int[1, 4], Gen.Int[0, 4], Gen.Int[0, 3]);
        dimension.Array[2, 4].Sample(dimensions =>
        {
            var lengths = dimensions.Select(d => d.Item1).ToArray();
            var count = lengths.Aggregate(1, (product, length) => product * length);
            var text = string.Join(',', dimensions.Select(d => d.Item3 == 0 ? $"{d.Item2}" : $"{d.Item2}:{d.Item2 + d.Item3}"));
            var expected = Enumerable.Range(0, count).Where(index =>
            {
                for (var i = lengths.Length - 1; i >= 0; index /= lengths[i--])
                {
                    var at = index % lengths[i];
                    if (at < dimensions[i].Item2 || at > dimensions[i].Item2 + dimensions[i].Item3)
                    {
                        return false;
                    }
                }

                return true;
            }).ToArray();
            Assert.True(IndexRange.TryParse(text, out var range));
            range!.Apply(Variant.ArrayOf(Enumerable.Range(0, count).ToArray(), lengths), out var part);
            Assert.Equal(expected, part.Elements as int[] ?? []);
        });
    }

    private static void Expect(string text, Variant value, string? expected)
    {
        Assert.True(IndexRange.TryParse(text, out var range));
        var status = range!.Apply(value, out var part);
        Assert.Equal(expected is null ? StatusCodes.BadIndexRangeNoData : StatusCodes.Good, status);
        var found = part.Elements is not int[] elements ? null : $"[{string.Join(", ", elements)}]";
        Assert.Equal(expected, part.Dimensions is { } dimensions ? $"{string.Join(" x ", dimensions)}: {found}" : found);
    }
}
