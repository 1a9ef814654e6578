using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;

namespace WashBridge.Checking;

/// <summary>What connecting to one washer and reading every tag once came to.</summary>
/// <param name="Washer">The washer.</param>
/// <param name="Failure">Why nothing could be read; null if something was.</param>
internal abstract record WasherCheck(WasherConfiguration Washer, string? Failure)
{
    /// <summary>In the order of the map; empty if nothing was read.</summary>
    public abstract IEnumerable<TagReading> Readings { get; }

    /// <summary>Everything was read and has a value. A value outside its limits is the process's affair, not the map's.</summary>
    public bool IsFine => Failure is null && Readings.All(r => r.Quality != Quality.Bad);
}

/// <summary>One tag as it was read.</summary>
/// <param name="Tag">The tag.</param>
/// <param name="Raw">Its registers as they came; a coil or discrete input is one of 0 or 1. Empty if it was not read.</param>
/// <param name="Reading">What it means.</param>
/// <param name="Age">How long ago it was read, when the check ended; null if it was not.</param>
/// <param name="RoundTrip">Of the request that brought it.</param>
internal sealed record TagCheck(Tag Tag, IReadOnlyList<ushort> Raw, TagReading Reading, TimeSpan? Age, TimeSpan? RoundTrip);

/// <summary>A washer read by Modbus TCP.</summary>
/// <param name="Washer">The washer.</param>
/// <param name="Failure">Why nothing could be read; null if something was.</param>
/// <param name="Identification">What the controller says of itself, or why that is not known.</param>
/// <param name="Requests">How many requests it took.</param>
/// <param name="Tags">In the order of the map.</param>
internal sealed record ModbusCheck(WasherConfiguration Washer, string? Failure, string Identification, int Requests, IReadOnlyList<TagCheck> Tags) : WasherCheck(Washer, Failure)
{
    public override IEnumerable<TagReading> Readings => Tags.Select(t => t.Reading);
}
