namespace School.Web.Platform.Database;

/// <summary>A row with a version that rises at every change; the ETag of the API and the guard against lost updates.</summary>
internal abstract class Versioned
{
    public Guid Id { get; init; } = RowId.New();

    public int Version { get; private set; } = 1;

    /// <summary>Marks the row as changed when only its parts were (holdings of a car, say).</summary>
    public void Touch() => Version++;
}
