using System.Globalization;
using Spectre.Console;
using WashBridge.Browsing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Checking;

/// <summary>Prints what the check of an OPC UA washer found.</summary>
/// <param name="site">The site file, for commands to copy.</param>
internal sealed class OpcUaPrinter(TextWriter output, IAnsiConsole? terminal, string site)
{
    public void Print(OpcUaCheck check)
    {
        var connection = (OpcUaConnection)check.Washer.Connection;
        PrintServer(check, connection);
        if (check.Session is { } session)
        {
            PrintSession(session, connection);
        }

        if (check.Failure is not null)
        {
            output.WriteLine($"  nothing could be read: {Advice.For(check.Failure, site)}");
        }

        if (check.OwnCertificateHint is { } hint)
        {
            output.WriteLine($"  {hint}");
        }

        if (check.Failure is null)
        {
            PrintTags(check.Tags);
        }

        output.WriteLine();
    }

    private void PrintServer(OpcUaCheck check, OpcUaConnection connection)
    {
        if (check.Offered.Count == 0)
        {
            return;
        }

        var server = check.Offered[0].Server;
        output.WriteLine($"  {connection.Endpoint} is {server.ApplicationName}, {server.ApplicationUri}{(connection.ServerUri is null ? "" : ", as server-uri asks for")}");
        foreach (var endpoint in check.Offered.DistinctBy(e => (e.SecurityPolicyUri, e.SecurityMode)).OrderByDescending(e => e.SecurityLevel))
        {
            output.WriteLine($"  offers {Security(endpoint)}; users: {string.Join(", ", endpoint.UserIdentityTokens.Select(t => Word(t.TokenType)).Distinct())}");
        }

        if (check.Certificate is { } certificate)
        {
            output.WriteLine($"  certificate {certificate.Thumbprint}, {certificate.Description}: {(certificate.Check.IsAccepted ? "accepted" : "refused")}");

            // Where the session failed for this very reason the message follows anyway.
            foreach (var finding in certificate.Check.Findings.Where(f => check.Failure?.Contains(f.Message, StringComparison.Ordinal) != true))
            {
                output.WriteLine($"    {Advice.For(finding.ToString(), site)}");
            }

            foreach (var finding in certificate.Check.Allowed)
            {
                output.WriteLine($"    let pass knowingly: {Advice.For(finding.ToString(), site)}");
            }
        }
    }

    private void PrintSession(SessionFacts session, OpcUaConnection connection)
    {
        output.WriteLine($"  uses {Security(session.Endpoint)} as {Who(connection.Identity)}");
        if (session.Status is { } status)
        {
            var build = status.BuildInfo;
            output.WriteLine($"  controller: {string.Join(", ", new[] { build.ManufacturerName, build.ProductName, build.SoftwareVersion }.Where(t => !string.IsNullOrEmpty(t)))}; running since {status.StartTime:yyyy-MM-dd HH:mm} UTC by its own clock");
        }

        if (session.Clock is { } clock)
        {
            output.WriteLine($"  its clock is {Offset(clock)} ours");
        }

        output.WriteLine($"  limits: {Count(session.Limits.MaxNodesPerRead)} nodes a read, {Count(session.Limits.MaxNodesPerBrowse)} a browse, {Count(session.Limits.MaxMonitoredItemsPerCall)} items a call; a lost session is kept for {Configuration.Binding.Amounts.Write(session.Timeout)}");
    }

    private void PrintTags(IReadOnlyList<NodeCheck> tags)
    {
        var table = new TextTable("signal", "node", "type", "raw", "value", "unit", "quality", "age");
        foreach (var tag in tags)
        {
            table.Add(
                CheckPrinter.Name(tag.Tag.Signal), tag.Source.ToString(), tag.Variable?.TypeName ?? "-", Raw(tag), CheckPrinter.Value(tag.Tag, tag.Reading), tag.Tag.Signal.Unit,
                CheckPrinter.Quality(tag.Reading), Age(tag.Age));
        }

        table.Write(output, terminal);
        foreach (var tag in tags)
        {
            foreach (var note in tag.Notes)
            {
                output.WriteLine($"  note: {CheckPrinter.Name(tag.Tag.Signal)}: {note}");
            }
        }
    }

    private static string Security(EndpointDescription endpoint) => endpoint.SecurityMode == MessageSecurityMode.None ? "no security (None)" : $"{endpoint.SecurityPolicyUri?.Split('#')[^1]} with {endpoint.SecurityMode}";

    private static string Word(UserTokenType type) => type switch
    {
        UserTokenType.Anonymous => "anonymous",
        UserTokenType.UserName => "name and password",
        UserTokenType.Certificate => "certificate",
        _ => "token of another service",
    };

    private static string Who(OpcUaIdentity identity) => identity switch
    {
        UserNameIdentity user => $"user {user.User}",
        CertificateIdentity user => $"the user of {user.CertificateFile}",
        _ => "anonymous",
    };

    private static string Offset(ClockOffset clock) => clock switch
    {
        { Lower: var lower, Upper: var upper } when lower >= TimeSpan.Zero => $"{Milliseconds(lower)} to {Milliseconds(upper)} ahead of",
        { Lower: var lower, Upper: var upper } when upper <= TimeSpan.Zero => $"{Milliseconds(-upper)} to {Milliseconds(-lower)} behind",
        { Lower: var lower, Upper: var upper } => $"between {Milliseconds(-lower)} behind and {Milliseconds(upper)} ahead of",
    };

    private static string Milliseconds(TimeSpan time) => string.Create(CultureInfo.InvariantCulture, $"{time.TotalMilliseconds:0.0} ms");

    private static string Count(int count) => count <= 0 ? "any number of" : count.ToString(CultureInfo.InvariantCulture);

    private static string Raw(NodeCheck tag)
    {
        if (tag.Variable is not { Value: { Status.IsBad: false, Value: { IsNull: false } value } })
        {
            return "-";
        }

        var raw = value.IsArray ? tag.Source.Index is { } at && at < value.Elements!.Length ? value.Elements.GetValue(at) : null : value.Value;
        return NodeList.Text(raw);
    }

    private static string Age(TimeSpan? age) => age is not { } known ? "-"
        : known.Duration() < TimeSpan.FromSeconds(10) ? Milliseconds(known)
        : string.Create(CultureInfo.InvariantCulture, $"{known.TotalSeconds:0} s");
}
