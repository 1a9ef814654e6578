using Microsoft.Extensions.Time.Testing;
using WashBridge.Pairing;

namespace WashBridge.Tests.Pairing;

public sealed class HoldTests
{
    private readonly FakeTimeProvider _time = new();
    private readonly Hold _hold;

    public HoldTests() => _hold = new Hold(_time);

    [Fact]
    public void Nothing_is_held_where_nobody_copies()
    {
        Assert.Equal(long.MaxValue, _hold.Upto(10));
        _hold.Acknowledge(3);
        Assert.Equal(3, _hold.Upto(10));
        _time.Advance(TimeSpan.FromSeconds(4));
        Assert.Equal(long.MaxValue, _hold.Upto(10));
    }

    [Fact]
    public void What_is_not_copied_is_held_for_a_second()
    {
        _hold.Acknowledge(3);
        Assert.Equal(3, _hold.Upto(10));
        _time.Advance(TimeSpan.FromSeconds(0.9));
        Assert.Equal(3, _hold.Upto(20));
        _time.Advance(TimeSpan.FromSeconds(0.1));
        Assert.Equal(10, _hold.Upto(21));
        _hold.Acknowledge(21);
        Assert.Equal(21, _hold.Upto(22));
        _hold.Acknowledge(7);
        Assert.Equal(21, _hold.Upto(22));
    }
}
