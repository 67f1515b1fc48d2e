namespace School.Web.Demo.Scale;

/// <summary>What one step writes: rows by their kind, and what the triggers of the diary would have written beside them.</summary>
internal sealed class ScaleRows
{
    private readonly Dictionary<Type, List<object>> _byKind = [];

    public DayCounts Days { get; } = new();

    public IReadOnlyList<object> Of(Type kind) => _byKind.GetValueOrDefault(kind) ?? (IReadOnlyList<object>)[];

    public IReadOnlyCollection<Type> Kinds => _byKind.Keys;

    public T Add<T>(T row)
        where T : class
    {
        if (!_byKind.TryGetValue(typeof(T), out var rows))
        {
            _byKind[typeof(T)] = rows = [];
        }

        rows.Add(row);
        return row;
    }
}
