namespace WashBridge.Benchmarks.Browser;

/// <summary>Where pages are read.</summary>
public sealed record Screen(string Name, int Width, int Height, bool IsTouch)
{
    public static readonly Screen Phone = new("phone", 360, 740, true);
    public static readonly Screen Tablet = new("tablet", 820, 1180, true);
    public static readonly Screen Desk = new("desk", 1440, 900, false);
    public static readonly Screen Wall = new("wall", 3840, 2160, false);

    /// <summary>A4 upright with margins of 10 mm, at the 96 px an inch of CSS.</summary>
    public static readonly Screen Paper = new("paper", 718, 1047, false);

    /// <summary>What pages are looked at on.</summary>
    public static readonly IReadOnlyList<Screen> All = [Phone, Tablet, Desk, Wall];
}
