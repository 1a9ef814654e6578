namespace WashBridge.Pairing;

/// <summary>Whether this bridge's own reads and what people tell it are what the log gets. A bridge that is alone always reads; of a pair one does, the other copies it.</summary>
/// <param name="partner">Where the other one's pages are; null: there is none.</param>
internal sealed class ReadingRole(Uri? partner = null)
{
    private volatile bool _isReading = partner is null;

    public bool IsReading { get => _isReading; internal set => _isReading = value; }

    public Uri? Partner => partner;
}
