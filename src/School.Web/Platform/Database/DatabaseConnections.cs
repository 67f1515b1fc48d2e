namespace School.Web.Platform.Database;

/// <summary>How to reach the database: as the role that the service works as, and as the one that owns the schema and changes it.</summary>
/// <param name="Service">For the service and all that it does.</param>
/// <param name="Owner">For migrate, backup and restore. The same where only one is configured.</param>
internal sealed record DatabaseConnections(string Service, string Owner)
{
    public const string ServiceName = "School";
    public const string OwnerName = "SchoolOwner";

    public bool Parted => Service != Owner;

    public static DatabaseConnections Of(IConfiguration configuration)
    {
        var service = configuration.GetConnectionString(ServiceName)!;
        return new(service, configuration.GetConnectionString(OwnerName) is { Length: > 0 } owner ? owner : service);
    }
}
