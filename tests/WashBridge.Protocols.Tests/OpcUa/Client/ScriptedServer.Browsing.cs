using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

internal sealed partial class ScriptedServer
{
    private readonly Dictionary<string, Queue<ReferenceDescription>> continuations = [];

    public Dictionary<NodeId, ReferenceDescription[]> References { get; } = [];

    public int MaxContinuationPoints { get; set; } = int.MaxValue;

    /// <summary>Most in one answer, whatever the client asks for.</summary>
    public int MaxReferences { get; set; } = int.MaxValue;

    public int OpenContinuationPoints => continuations.Count;

    public int MostContinuationPoints { get; private set; }

    public void AddFolder(NodeId folder, int children) => References[folder] =
    [
        .. Enumerable.Range(0, children).Select(i => new ReferenceDescription(
            new NodeId(35), true, new NodeId(2, $"{folder.Identifier}.{i}"), new QualifiedName(2, $"{i}"), new LocalizedText($"{i}"), NodeClass.Variable, new NodeId(63))),
    ];

    private BrowseResponse Browse(BrowseRequest request)
    {
        CheckCount(request.Nodes.Count);
        return new BrowseResponse([.. request.Nodes.Select(node => References.TryGetValue(node.NodeId, out var found)
            ? Page(new Queue<ReferenceDescription>(found), request.MaxReferencesPerNode)
            : new BrowseResult(StatusCodes.BadNodeIdUnknown, null, []))]);
    }

    private BrowseNextResponse Browse(BrowseNextRequest request) => new([.. request.ContinuationPoints.Select(point =>
    {
        var isKnown = continuations.Remove(System.Text.Encoding.UTF8.GetString(point ?? []), out var rest);
        return !isKnown ? new BrowseResult(StatusCodes.BadContinuationPointInvalid, null, [])
            : request.Release ? new BrowseResult(StatusCodes.Good, null, [])
            : Page(rest!, 0);
    })]);

    private BrowseResult Page(Queue<ReferenceDescription> rest, uint asked)
    {
        var most = asked == 0 ? MaxReferences : (int)Math.Min(asked, MaxReferences);
        List<ReferenceDescription> page = [];
        while (page.Count < most && rest.TryDequeue(out var next))
        {
            page.Add(next);
        }

        if (rest.Count == 0)
        {
            return new BrowseResult(StatusCodes.Good, null, page);
        }

        if (continuations.Count >= MaxContinuationPoints)
        {
            return new BrowseResult(StatusCodes.BadNoContinuationPoints, null, []);
        }

        var point = $"point {++lastId}";
        continuations.Add(point, rest);
        MostContinuationPoints = Math.Max(MostContinuationPoints, continuations.Count);
        return new BrowseResult(StatusCodes.Good, System.Text.Encoding.UTF8.GetBytes(point), page);
    }
}
