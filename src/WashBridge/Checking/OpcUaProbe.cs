using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Browsing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Subscribing;
using StatusCodes = WashBridge.Protocols.OpcUa.StatusCodes;

namespace WashBridge.Checking;

/// <summary>Connects to a washer by OPC UA and reads every tag once. Tells as much as it found out, however far it came.</summary>
internal sealed class OpcUaProbe(WasherConfiguration washer, OpcUaApplication application, TimeProvider time)
{
    private readonly OpcUaConnection connection = (OpcUaConnection)washer.Connection;
    private readonly List<Tag> tags = [.. washer.Tags];

    public async Task<OpcUaCheck> ProbeAsync(CancellationToken cancellation)
    {
        var check = new OpcUaCheck(washer, null);
        try
        {
            var options = OpcUaSettings.ClientOptions(connection, application);
            var offered = await UaDiscovery.GetEndpointsAsync(connection.Endpoint, connection.Timeout, null, time, cancellation);
            check = check with { Offered = offered, Certificate = Judge(offered) };
            await using var session = await UaSession.ConnectAsync(options, null, time, cancellation);
            check = check with { Session = new SessionFacts(session.Endpoint, session.Limits, session.Clock, session.Status, session.SessionTimeout) };
            return check with { Tags = await ReadAsync(session, cancellation) };
        }
        catch (UaException e)
        {
            return check with { Failure = e.Message, OwnCertificateHint = Hint(check) };
        }
        catch (PkiException e)
        {
            return check with { Failure = e.Message };
        }
    }

    private static string Application(EndpointDescription endpoint) => endpoint.Server.ApplicationUri ?? "";

    /// <summary>The same judgement as the session's, told even where the session fails for another reason.</summary>
    private ServerCertificate? Judge(IReadOnlyList<EndpointDescription> offered)
    {
        var endpoint = offered
            .Where(e => e.ServerCertificate is { Length: > 0 } && SecurityPolicy.Find(e.SecurityPolicyUri) is not null)
            .OrderByDescending(e => e.SecurityMode == connection.Mode && (connection.Policy is null || SecurityPolicy.Find(e.SecurityPolicyUri) == connection.Policy))
            .ThenByDescending(e => SecurityPolicy.Find(e.SecurityPolicyUri)!.Strength)
            .FirstOrDefault();
        if (endpoint is null)
        {
            return null;
        }

        var check = application.Validator.Validate(endpoint.ServerCertificate, new CertificateExpectation
        {
            Purpose = CertificatePurpose.Server,
            SecurityPolicy = SecurityPolicy.Find(endpoint.SecurityPolicyUri)!,
            ApplicationUri = connection.ServerUri ?? Application(endpoint),
            Host = connection.Endpoint.DnsSafeHost,
            AllowExpired = connection.Exceptions.HasFlag(CertificateExceptions.Expired),
            AllowOtherHost = connection.Exceptions.HasFlag(CertificateExceptions.OtherHost),
            AllowOtherApplicationUri = connection.Exceptions.HasFlag(CertificateExceptions.OtherApplicationUri),
            AllowOtherUsage = connection.Exceptions.HasFlag(CertificateExceptions.OtherUsage),
            AllowUnknownRevocation = connection.Exceptions.HasFlag(CertificateExceptions.UnknownRevocation),
        });
        try
        {
            using var certificate = X509CertificateLoader.LoadCertificate(CertificateChain.Leaf(endpoint.ServerCertificate).Span);
            return new ServerCertificate(certificate.Thumbprint, $"{certificate.Subject}, valid to {certificate.NotAfter.ToUniversalTime():yyyy-MM-dd}", check);
        }
        catch (CryptographicException e)
        {
            return new ServerCertificate("", $"not readable ({e.Message})", check);
        }
    }

    /// <summary>A server that does not trust us says only that security checks failed, or hangs up.</summary>
    private string? Hint(OpcUaCheck check) =>
        connection.Mode != MessageSecurityMode.None && check is { Session: null, Offered.Count: > 0, Certificate.Check.IsAccepted: true }
            ? $"if the controller refuses our certificate: it must trust {Convert.ToHexString(application.Certificate.Thumbprint)}, the file {application.Store.List().First(c => c.State == StoredState.Own).File}"
            : null;

    private async Task<List<NodeCheck>> ReadAsync(UaSession session, CancellationToken cancellation)
    {
        var sources = tags.Select(t => (OpcUaSource)t.Source).ToList();
        var resolved = await session.ResolveAsync([.. sources.Select(s => s.Node)], cancellation);
        var (variables, serverTime) = await VariableReader.ReadAsync(session, [.. resolved.Select(r => r.Status.IsBad ? NodeId.Null : r.Node)], cancellation);
        var checks = new List<NodeCheck>(tags.Count);
        for (var i = 0; i < tags.Count; i++)
        {
            checks.Add(variables[i] is { } variable
                ? new NodeCheck(tags[i], variable, Judge(tags[i], sources[i], variable), Age(variable.Value, serverTime), [.. Notes(tags[i], sources[i], variable, session.Namespaces)])
                : new NodeCheck(tags[i], null, TagDecoder.Bad(Unresolved(resolved[i].Status, session)), null, []));
        }

        return checks;
    }

    private static string Unresolved(StatusCode status, UaSession session) =>
        status.Code == StatusCodes.BadNodeIdUnknown ? $"the server has no such namespace; it has {string.Join(", ", session.Namespaces.Uris.Index().Skip(1).Select(n => $"{n.Index}: {n.Item}"))}"
        : status.Code == StatusCodes.BadNoMatch ? $"{status.Code}: the path leads nowhere; browse --find NAME shows where a name is"
        : $"{status.Code}: the node cannot be found";

    private static TagReading Judge(Tag tag, OpcUaSource source, Variable variable)
    {
        var status = variable.Value.Status;
        if (!variable.IsReadable || status.Code == StatusCodes.BadUserAccessDenied || status.Code == StatusCodes.BadNotReadable)
        {
            return TagDecoder.Bad("access denied: the server does not let this user read it");
        }

        return status.Code == StatusCodes.BadNodeIdUnknown ? TagDecoder.Bad("the server has no such node")
            : status.Code == StatusCodes.BadAttributeIdInvalid ? TagDecoder.Bad("the node is no variable: it has no value")
            : !status.IsBad && NodeFit.Problem(tag.Signal.Type, source, variable.Value.Value) is { } problem ? TagDecoder.Bad(problem)
            : ValueDecoder.Decode(tag, source, variable.Value);
    }

    private static TimeSpan? Age(DataValue value, DateTime serverTime) => value.SourceTimestamp is { } source && serverTime != default ? serverTime - source : null;

    private IEnumerable<string> Notes(Tag tag, OpcUaSource source, Variable variable, NamespaceTable namespaces)
    {
        if (UnitFit.Note(tag, variable.UnitName) is { } unit)
        {
            yield return unit;
        }

        var every = washer.Groups.First(g => g.Number == tag.Group).Every;
        if (variable.MinimumSampling > every)
        {
            yield return $"the server looks at it no more often than every {Configuration.Binding.Amounts.Write(variable.MinimumSampling.Value)}, its poll group asks for {Configuration.Binding.Amounts.Write(every)}";
        }

        if (source.Node.DependsOnNamespaceIndex)
        {
            yield return $"it is written with a namespace index, which may mean another one after a restart of the server; {namespaces.Portable(variable.Node)} stays";
        }
    }
}
