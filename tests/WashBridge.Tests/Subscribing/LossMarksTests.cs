using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Subscribing;

namespace WashBridge.Tests.Subscribing;

/// <summary>Each letter is a message: c continuous, g behind a gap, r what was read anew; a subscription begins with g. Capital: it is where the gap is marked.</summary>
public sealed class LossMarksTests
{
    [Theory]
    [InlineData("gccc")]
    [InlineData("gcGccc")]
    [InlineData("gcGrcc")] // the message behind the gap first, then the reading
    [InlineData("gcRgcc")] // the reading first
    [InlineData("gcGrGrcc")] // lost again before anything went well
    [InlineData("gcRgGrcc")]
    [InlineData("gcGccrcc")] // the reading takes its time
    [InlineData("gccRgcc")]
    [InlineData("rgcc")]
    public void A_gap_is_marked_once_and_what_was_read_is_kept(string messages)
    {
        var marks = new LossMarks();
        marks.BeginAnew();
        var told = messages.Select(m => marks.Tells(new PublishedNotification(
            [], 1, default, 0, 0, char.ToLowerInvariant(m) == 'c', char.ToLowerInvariant(m) == 'r' ? NotificationOrigin.ReadAnew : NotificationOrigin.Published)));

        Assert.Equal(messages.Select(char.IsUpper), told);
    }
}
