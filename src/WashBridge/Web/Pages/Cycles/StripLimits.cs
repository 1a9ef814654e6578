using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>A limit of the recipe where it lies on the strip.</summary>
/// <param name="Station">The station that it is for; 0: all.</param>
internal sealed record PlacedLimit(StripLimit Limit, bool IsDrain, int Station);

/// <summary>
/// Where the recipe's times lie on the strip. A least time is measured from the latest possible start: where its mark ends before the earliest possible end, it is proven. A
/// longest time is measured from the earliest possible start: its mark must end after the latest possible end.
/// </summary>
internal sealed class StripLimits(CycleRecord cycle, StripPlace place, Func<string, object[], string> text)
{
    public IEnumerable<PlacedLimit> Of(Recipe recipe) => recipe.Requirements.SelectMany(r => r switch
    {
        StepTime { Total: false } step => cycle.Phases.Where(p => p.Id == step.Phase).SelectMany(p => p.Passes).SelectMany(p => p.Steps).Where(s => s.Kind == step.Step).SelectMany(s => Times(s.Start, step.AtLeast, step.AtMost, step)),
        ContactTime contact => Contact(contact),
        DrainLimit drain => Drains(drain),
        _ => [],
    });

    private IEnumerable<PlacedLimit> Contact(ContactTime contact)
    {
        var starts = Edges(contact.From).ToList();
        if (contact.From.Phase != contact.To.Phase)
        {
            starts = [.. starts.TakeLast(1)];
        }

        return starts.SelectMany(s => Times(s, contact.AtLeast, contact.AtMost, contact));
    }

    private IEnumerable<Edge> Edges(EdgeName name)
    {
        foreach (var phase in cycle.Phases.Where(p => p.Id == name.Phase))
        {
            if (name.Step is not { } kind)
            {
                yield return name.Side == EdgeSide.Start ? phase.Start : phase.End;
                continue;
            }

            foreach (var pass in phase.Passes)
            {
                if ((name.Side == EdgeSide.Start ? pass.Steps.FirstOrDefault(s => s.Kind == kind) : pass.Steps.LastOrDefault(s => s.Kind == kind)) is { } step)
                {
                    yield return name.Side == EdgeSide.Start ? step.Start : step.End;
                }
            }
        }
    }

    private IEnumerable<PlacedLimit> Drains(DrainLimit limit) =>
        from station in cycle.Stations
        from drain in station.Drains
        where limit.Phases.Count == 0 || limit.Phases.Contains(drain.Phase)
        let start = place.Of(drain.Start).Earliest
        select new PlacedLimit(new StripLimit(start, start + limit.AtMost.TotalSeconds, text("limit.most", [Name(limit), Seconds(limit.AtMost)]), text("limit.most.short", [Seconds(limit.AtMost)]), IsMost: true), IsDrain: true, station.Station);

    private IEnumerable<PlacedLimit> Times(Edge start, TimeSpan? atLeast, TimeSpan? atMost, Requirement requirement)
    {
        if (atLeast is { } least)
        {
            var from = place.Of(start).Latest;
            yield return new PlacedLimit(new StripLimit(from, from + least.TotalSeconds, text("limit.least", [Name(requirement), Seconds(least)]), text("limit.least.short", [Seconds(least)]), IsMost: false), IsDrain: false, 0);
        }

        if (atMost is { } most)
        {
            var from = place.Of(start).Earliest;
            yield return new PlacedLimit(new StripLimit(from, from + most.TotalSeconds, text("limit.most", [Name(requirement), Seconds(most)]), text("limit.most.short", [Seconds(most)]), IsMost: true), IsDrain: false, 0);
        }
    }

    private static string Name(Requirement requirement) => requirement.Title.Length > 0 ? requirement.Title : requirement.Id;

    private static string Seconds(TimeSpan span) => span.TotalSeconds.ToString("0.###", CultureInfo.InvariantCulture);
}
