namespace WashBridge.Simulator.Physics;

/// <summary>A station's drain valve: air opens it, deposits narrow it, and it never opens twice quite alike.</summary>
internal sealed class DrainValve(DeterministicRandom random, double noise)
{
    private const double StrokeSeconds = 0.1; // at full air
    private const double StrokeVariation = 0.01;
    private double _stroke;
    private double _thisStroke = 1;

    /// <summary>Share of the opening that is lost to deposits, 0 to 1.</summary>
    public double Clogging { get; private set; }

    /// <summary>Free share of the opening now.</summary>
    public double Opening => _stroke * _thisStroke * (1 - Clogging);

    /// <summary>Takes a share of what is still free; a negative share gives some back.</summary>
    public void Clog(double share) => Clogging = Math.Clamp(1 - ((1 - Clogging) * (1 - share)), 0, 0.999);

    /// <summary>Adds to the resistance, which is 1 when nothing is lost: a drain takes longer by the same share of its first time for each unit.</summary>
    public void Resist(double more) => Clogging = Math.Clamp(1 - (1 / Math.Max(1, (1 / (1 - Clogging)) + more)), 0, 0.999);

    public void Clean() => Clogging = 0;

    /// <param name="open">The controller wants it open.</param>
    /// <param name="airBar">Control air, absolute: with little of it the valve is slow, and with less it does not open wholly.</param>
    /// <param name="seconds">For how long.</param>
    public void Step(bool open, double airBar, double seconds)
    {
        if (!open)
        {
            _stroke = 0;
            return;
        }

        if (_stroke == 0)
        {
            _thisStroke = 1 + (StrokeVariation * noise * random.NextGaussian());
        }

        var gauge = Math.Max(0.3, airBar - Nature.AtmosphereBar);
        var slow = Math.Max(1, 6 / gauge);
        var whole = Math.Clamp((gauge - 0.3) / 2.7, 0, 1);
        _stroke += (whole - _stroke) * Nature.Approach(seconds, StrokeSeconds * slow * slow);
        _stroke = Math.Max(_stroke, 1e-6);
    }
}
