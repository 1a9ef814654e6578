using System.CommandLine;
using WashBridge.Browsing;
using WashBridge.Certificates;
using WashBridge.Configuration.Binding;
using WashBridge.Importing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Subscribing;

namespace WashBridge.Commands;

/// <summary><c>browse</c>: what an OPC UA server holds, to write a tag map from.</summary>
internal static class BrowseCommand
{
    private const int StandardLimit = 10_000;
    private const int MostLimit = 200_000;

    /// <summary>More variables than this in a table help nobody.</summary>
    private const int MaxListed = 2_000;

    public static Command Create(TimeProvider time)
    {
        var target = new Argument<string>("target") { Description = "The site file, or the address of a server: opc.tcp://host:port." };
        var washer = new Option<string?>("--washer") { Description = "Which washer of the site; not needed if only one is read by OPC UA.", HelpName = "id" };
        var find = new Option<string[]>("--find") { Description = "Only variables whose name, the names above it or node id hold this text, capitals or not; several: all of them.", HelpName = "text", AllowMultipleArgumentsPerToken = true };
        var below = new Option<string?>("--below") { Description = "Begin at this node instead of the Objects folder: ns=2;s=Name, nsu=URI;s=Name or /2:Name/2:Name.", HelpName = "node" };
        var yaml = new Option<bool>("--yaml") { Description = "Print entries for a tag map, with guessed signals, instead of a table." };
        var limit = new Option<int>("--limit") { Description = $"Nodes to visit at most, 1 to {MostLimit}.", DefaultValueFactory = _ => StandardLimit, HelpName = "number" }.Within(1, MostLimit);
        var mode = new Option<string?>("--security-mode") { Description = $"With an address: {string.Join(", ", SecurityNames.Modes)}; SignAndEncrypt if it is left out.", HelpName = "mode" };
        var pki = new Option<string>("--pki") { Description = "With an address: the folder of certificates.", DefaultValueFactory = _ => "pki", HelpName = "folder" };
        var command = new Command("browse", """
            Walks through the address space of an OPC UA server and lists its variables with type, value, unit and a node id that stays right when the server restarts. With --yaml, prints tag map entries ready to copy; every guess is named above its tag.

            It only reads. The nodes of the standard itself are left out unless --below names one.

            Example: washbridge browse config/site.yaml --washer line-2 --find temperature
            Example: washbridge browse opc.tcp://192.0.2.20:4840 --yaml > config/tag-maps/line-2.yaml
            Exit codes: 0 done; 1 the command line or the configuration is wrong; 2 the server is not reached or refuses.
            """)
        {
            target, washer, find, below, yaml, limit, mode, pki,
        };
        command.SetAction((parsed, cancellation) =>
        {
            var output = parsed.InvocationConfiguration.Output;
            var asked = new BrowseRequest(
                parsed.GetValue(target)!, parsed.GetValue(washer), parsed.GetValue(find) ?? [], parsed.GetValue(below), parsed.GetValue(yaml), parsed.GetValue(limit), parsed.GetValue(mode), parsed.GetValue(pki)!);
            return RunAsync(asked, output, parsed.InvocationConfiguration.Error, time, cancellation);
        });
        return command;
    }

    private static async Task<int> RunAsync(BrowseRequest asked, TextWriter output, TextWriter errors, TimeProvider time, CancellationToken cancellation)
    {
        if (BrowseTarget.Of(asked, errors) is not { } target || !TryStart(asked, errors, out var start))
        {
            return ExitCodes.ConfigurationErrors;
        }

        try
        {
            using var application = new OpcUaApplication(target.Application, time);
            await using var session = await UaSession.ConnectAsync(OpcUaSettings.ClientOptions(target.Connection, application), null, time, cancellation);
            return await BrowseAsync(session, asked, start, output, errors, cancellation);
        }
        catch (UaException e)
        {
            errors.WriteLine($"{target.Connection.Endpoint}: {Advice.For(e.Message, target.Site)}");
            return ExitCodes.DeviceErrors;
        }
        catch (PkiException e)
        {
            errors.WriteLine(e.Message);
            return ExitCodes.ConfigurationErrors;
        }
    }

    private static bool TryStart(BrowseRequest asked, TextWriter errors, out NodeAddress start)
    {
        start = AddressWalk.ObjectsFolder;
        if (asked.Below is not { } below)
        {
            return true;
        }

        var parsed = new NodeAddressParser(new Dictionary<string, string>()).Parse(below);
        if (parsed.Address is not { } address)
        {
            errors.WriteLine($"--below: {parsed.Problem}; found \"{below}\"; allowed: {parsed.Allowed}");
            return false;
        }

        start = address;
        return true;
    }

    private static async Task<int> BrowseAsync(UaSession session, BrowseRequest asked, NodeAddress start, TextWriter output, TextWriter errors, CancellationToken cancellation)
    {
        var resolved = (await session.ResolveAsync([start], cancellation))[0];
        var progress = new BrowseProgress(errors);
        var walk = resolved.Status.IsBad ? new Walk([], 0, true, 0, resolved.Status) : await new AddressWalk(session, asked.Limit, progress.Report).WalkAsync(resolved.Node, cancellation);
        progress.Clear();
        if (walk.Start.IsBad)
        {
            errors.WriteLine($"--below: {walk.Start}: nothing can be found there; found \"{asked.Below}\"; allowed: the id of a node that the server has, or a path of browse names");
            return ExitCodes.ConfigurationErrors;
        }

        var matching = walk.Variables.Where(v => asked.Find.All(t => Matches(v, session.Namespaces, t))).ToList();
        var listed = matching.Take(MaxListed).ToList();
        var (variables, _) = await VariableReader.ReadAsync(session, [.. listed.Select(v => v.Node)], cancellation);
        var rows = listed.Zip(variables).Where(v => v.Second is not null).Select(v => new ListedVariable(v.First, v.Second!)).ToList();
        if (asked.Yaml)
        {
            output.Write(NodeMapDraft.Of(rows, session.Namespaces, session.Endpoint.Server.ApplicationUri ?? asked.Target).Text);
        }
        else
        {
            NodeList.Write(rows, session.Namespaces, output, Terminal.Of(output));
        }

        // Beside the YAML, which may go to a file, rather than in it.
        var summary = asked.Yaml ? errors : output;
        summary.WriteLine($"{walk.Visited} nodes seen, {walk.Variables.Count} variables{(asked.Find.Count > 0 ? $", {matching.Count} with {string.Join(" and ", asked.Find.Select(t => $"\"{t}\""))}" : "")}.");
        foreach (var (holds, remark) in Remarks(walk, matching.Count, asked.Limit))
        {
            if (holds)
            {
                summary.WriteLine(remark);
            }
        }

        return ExitCodes.Success;
    }

    private static IEnumerable<(bool Holds, string Remark)> Remarks(Walk walk, int matching, int limit) =>
    [
        (!walk.IsComplete, $"There is more: the walk ended at {limit} nodes (--limit). Begin lower down with --below."),
        (matching > MaxListed, $"Only the first {MaxListed} are listed: narrow the search with --find or --below."),
        (walk.Refused > 0, $"The server did not tell what lies below {walk.Refused} of the nodes; this user may lack the right."),
    ];

    private static bool Matches(FoundVariable variable, NamespaceTable namespaces, string text) =>
        variable.Path.Any(p => p.Contains(text, StringComparison.OrdinalIgnoreCase)) || namespaces.Portable(variable.Node).Contains(text, StringComparison.OrdinalIgnoreCase);
}
