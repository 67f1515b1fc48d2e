using System.Globalization;

namespace School.Web.Platform.LocalPostgres;

/// <summary>PostgreSQL refuses to run as root; this is the account it runs under instead.</summary>
internal sealed record UnprivilegedUser(string Name, int Id, int GroupId)
{
    private static readonly string[] Preferred = ["school", "postgres", "nobody"];

    /// <summary>Null when the service itself is not root and nothing has to be dropped.</summary>
    public static UnprivilegedUser? IfRoot()
    {
        if (!Environment.IsPrivilegedProcess)
        {
            return null;
        }

        var accounts = File.ReadLines("/etc/passwd").Select(line => line.Split(':')).Where(fields => fields.Length >= 4)
            .ToLookup(fields => fields[0]);
        var account = Preferred.SelectMany(name => accounts[name]).FirstOrDefault()
            ?? throw new LocalPostgresException("PostgreSQL cannot run as root and there is no account to run it as. "
                + "Add one with `adduser --system --group school`, or run the service as an ordinary user.");
        return new(account[0], int.Parse(account[2], CultureInfo.InvariantCulture), int.Parse(account[3], CultureInfo.InvariantCulture));
    }
}
