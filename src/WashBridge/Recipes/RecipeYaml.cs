using System.Globalization;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using YamlDotNet.Core;
using YamlDotNet.Core.Events;

namespace WashBridge.Recipes;

/// <summary>Writes a recipe as a file of the configuration, which reads back as an equal recipe.</summary>
internal static class RecipeYaml
{
    private const double PercentFrom = 0.001;

    /// <param name="unitOf">The unit of a signal of the site's own, which only the tag map tells.</param>
    public static string Write(Recipe recipe, Func<string, string>? unitOf = null)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        using var text = new StringWriter(CultureInfo.InvariantCulture) { NewLine = "\n" };
        var writer = new MapWriter(new Emitter(text, new EmitterSettings(2, int.MaxValue, false, int.MaxValue).WithIndentedSequences().WithNewLine("\n")));
        writer.Document(() =>
        {
            writer.Text("recipe", recipe.Id);
            writer.Plain("version", recipe.Version.ToString(CultureInfo.InvariantCulture));
            if (recipe.Title.Length > 0)
            {
                writer.Text("title", recipe.Title);
            }

            if (recipe.Rule != DecisionRule.Bounds)
            {
                writer.Map("decision", () => Rule(recipe.Rule, writer));
            }

            if (recipe.Setpoints.Count > 0)
            {
                writer.List("setpoints", recipe.Setpoints, s => writer.FlowMap(() => Setpoint(s.Key, s.Value, writer)));
            }

            writer.List("requirements", recipe.Requirements, r => writer.Map(() => Requirement(r, writer, signal => UnitOf(signal, unitOf))));
        });
        return text.ToString();
    }

    /// <summary>A volume fraction as it is read back.</summary>
    internal static string Fraction(double fraction)
    {
        var (divisor, unit) = fraction is > 0 and < PercentFrom ? (1e6, "ppm") : (100.0, "%");
        return $"{Number(Undivided(fraction, divisor))} {unit}";
    }

    /// <summary>The number that divided gives this one. Multiplying alone can miss it by the last digit.</summary>
    internal static double Undivided(double quotient, double divisor)
    {
        var near = quotient * divisor;
        return new[] { near, Math.BitIncrement(near), Math.BitDecrement(near) }.Where(n => n / divisor == quotient).OrderBy(n => Number(n).Length).FirstOrDefault(near);
    }

    /// <summary>In decimals, without an exponent, which amounts do not have; the shortest that reads back the same.</summary>
    internal static string Number(double value)
    {
        var text = value.ToString("R", CultureInfo.InvariantCulture);
        var e = text.IndexOf('E', StringComparison.Ordinal);
        if (e < 0)
        {
            return text;
        }

        var (sign, digits, exponent) = (text[0] == '-' ? "-" : "", text[..e].TrimStart('-'), int.Parse(text.AsSpan(e + 1), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture));
        var point = digits.IndexOf('.', StringComparison.Ordinal) is > 0 and var at ? at : digits.Length;
        digits = digits.Replace(".", "", StringComparison.Ordinal);
        point += exponent;
        return sign + (point <= 0 ? "0." + new string('0', -point) + digits : digits.PadRight(point, '0'));
    }

    internal static string Time(TimeSpan time) => time.Ticks % TimeSpan.TicksPerSecond == 0 && time >= TimeSpan.FromSeconds(1)
        ? $"{time.Ticks / TimeSpan.TicksPerSecond} s"
        : $"{Number((double)time.Ticks / TimeSpan.TicksPerMillisecond)} ms";

    private static void Rule(DecisionRule rule, MapWriter writer)
    {
        writer.Text("method", Names.NameOf(rule.Method));
        if (rule.Method == DecisionMethod.GuardBand)
        {
            writer.Plain("risk", Number(rule.Risk));
        }
    }

    private static void Setpoint(string name, ApprovedSetpoint setpoint, MapWriter writer)
    {
        writer.Text("setpoint", name);
        writer.Plain("value", Number(setpoint.Value));
        writer.Text("unit", setpoint.Unit);
        if (setpoint.Tolerance != 0)
        {
            writer.Plain("tolerance", Number(setpoint.Tolerance));
        }
    }

    private static void Requirement(Requirement requirement, MapWriter writer, Func<string, string> unitOf)
    {
        writer.Text("id", requirement.Id);
        if (requirement.Title.Length > 0)
        {
            writer.Text("title", requirement.Title);
        }

        switch (requirement)
        {
            case ContactTime r:
                writer.Text("type", "contact-time");
                writer.FlowMap("from", () => Edge(r.From, writer));
                writer.FlowMap("to", () => Edge(r.To, writer));
                Limits(r.AtLeast, r.AtMost, writer);
                writer.Flag("every-pass", r.EveryPass);
                break;
            case StepTime r:
                writer.Text("type", "step-time");
                writer.Text("phase", r.Phase);
                writer.Text("step", Names.NameOf(r.Step));
                Limits(r.AtLeast, r.AtMost, writer);
                writer.Flag("total", r.Total);
                break;
            case TimeBeyond r:
                writer.Text("type", "time-beyond");
                writer.Text("signal", r.Signal);
                writer.Text(r.Below ? "below" : "above", $"{Number(r.Value)} {unitOf(r.Signal)}");
                writer.Words("phases", r.Phases);
                writer.Text("at-least", Time(r.AtLeast));
                Uncertainty(r.SensorUncertainty, RecipeWords.DifferenceUnit(unitOf(r.Signal)), writer);
                break;
            case PassCount r:
                writer.Text("type", "pass-count");
                writer.Text("phase", r.Phase);
                writer.Plain("at-least", r.AtLeast.ToString(CultureInfo.InvariantCulture));
                break;
            case SwingCount r:
                writer.Text("type", "swing-count");
                writer.Text("phase", r.Phase);
                writer.Plain("at-least", r.AtLeast.ToString(CultureInfo.InvariantCulture));
                break;
            case PhaseOrder r:
                writer.Text("type", "phase-order");
                writer.Words("phases", r.Phases);
                break;
            case DrainLimit r:
                writer.Text("type", "drain-limit");
                writer.Text("at-most", Time(r.AtMost));
                if (r.Phases.Count > 0)
                {
                    writer.Words("phases", r.Phases);
                }

                break;
            case ResidualOxygen r:
                Oxygen(r, writer);
                break;
            case ThermalDose r:
                writer.Text("type", "thermal-dose");
                writer.Text("method", Names.NameOf(r.Method));
                writer.Text("signal", r.Signal);
                writer.Words("phases", r.Phases);
                writer.Text("at-least", Time(TimeSpan.FromTicks((long)Math.Round(r.AtLeast * (r.Method == DoseMethod.A0 ? TimeSpan.TicksPerSecond : TimeSpan.TicksPerMinute)))));
                Uncertainty(r.SensorUncertainty, "K", writer);
                break;
            default:
                throw new ArgumentOutOfRangeException(nameof(requirement), requirement.GetType().Name, "no way to write this kind of requirement");
        }
    }

    private static void Oxygen(ResidualOxygen r, MapWriter writer)
    {
        writer.Text("type", "residual-oxygen");
        writer.Text("phase", r.Phase);
        writer.Text("at-most", Fraction(r.AtMost));
        writer.Text("initial", Fraction(r.Initial));
        writer.Text("in-purge-gas", Fraction(r.InPurgeGas));
        Uncertainty(r.SensorUncertainty, "bar", writer);
    }

    private static void Limits(TimeSpan? atLeast, TimeSpan? atMost, MapWriter writer)
    {
        if (atLeast is { } least)
        {
            writer.Text("at-least", Time(least));
        }

        if (atMost is { } most)
        {
            writer.Text("at-most", Time(most));
        }
    }

    private static void Edge(EdgeName edge, MapWriter writer)
    {
        writer.Text("phase", edge.Phase);
        if (edge.Step is { } step)
        {
            writer.Text("step", Names.NameOf(step));
        }

        writer.Text("edge", Names.NameOf(edge.Side));
    }

    private static void Uncertainty(double uncertainty, string unit, MapWriter writer)
    {
        if (uncertainty != 0)
        {
            writer.Text("sensor-uncertainty", $"{Number(uncertainty)} {unit}");
        }
    }

    private static string UnitOf(string signal, Func<string, string>? unitOf) =>
        RecipeWords.UnitOf(signal) is { Length: > 0 } unit ? unit : unitOf?.Invoke(signal) is { Length: > 0 } own ? own : "1";

    /// <summary>Text stands plain where that reads back as the same text.</summary>
    private sealed class MapWriter(Emitter emitter)
    {
        public void Document(Action content)
        {
            emitter.Emit(new StreamStart());
            emitter.Emit(new DocumentStart(null, null, isImplicit: true));
            Map(content);
            emitter.Emit(new DocumentEnd(isImplicit: true));
            emitter.Emit(new StreamEnd());
        }

        public void Text(string key, string value)
        {
            Key(key);
            Scalar(value);
        }

        public void Plain(string key, string value)
        {
            Key(key);
            emitter.Emit(new Scalar(AnchorName.Empty, TagName.Empty, value, ScalarStyle.Plain, true, false));
        }

        public void Flag(string key, bool value)
        {
            if (value)
            {
                Plain(key, "true");
            }
        }

        public void Map(string key, Action content)
        {
            Key(key);
            Map(content);
        }

        public void Map(Action content) => Map(content, MappingStyle.Block);

        public void FlowMap(string key, Action content)
        {
            Key(key);
            FlowMap(content);
        }

        public void FlowMap(Action content) => Map(content, MappingStyle.Flow);

        public void Words(string key, IReadOnlyList<string> words)
        {
            Key(key);
            emitter.Emit(new SequenceStart(AnchorName.Empty, TagName.Empty, true, SequenceStyle.Flow));
            foreach (var word in words)
            {
                Scalar(word);
            }

            emitter.Emit(new SequenceEnd());
        }

        public void List<T>(string key, IEnumerable<T> items, Action<T> write)
        {
            Key(key);
            emitter.Emit(new SequenceStart(AnchorName.Empty, TagName.Empty, true, SequenceStyle.Block));
            foreach (var item in items)
            {
                write(item);
            }

            emitter.Emit(new SequenceEnd());
        }

        private void Map(Action content, MappingStyle style)
        {
            emitter.Emit(new MappingStart(AnchorName.Empty, TagName.Empty, true, style));
            content();
            emitter.Emit(new MappingEnd());
        }

        private void Key(string key) => emitter.Emit(new Scalar(key));

        private void Scalar(string value)
        {
            var isPlain = value.Length > 0 && char.IsAsciiLetterOrDigit(value[0]) && value.All(c => char.IsAsciiLetterOrDigit(c) || c is ' ' or '-' or '.' or '/' or '%' or '(' or ')')
                && value[^1] != ' ' && CoreSchema.Resolve(value) == ScalarKind.Text;
            emitter.Emit(new Scalar(AnchorName.Empty, TagName.Empty, value, isPlain ? ScalarStyle.Plain : ScalarStyle.DoubleQuoted, isPlain, !isPlain));
        }
    }
}
