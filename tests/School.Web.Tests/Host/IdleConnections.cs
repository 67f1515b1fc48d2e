using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Storage;
using Npgsql;
using Npgsql.EntityFrameworkCore.PostgreSQL.Storage.Internal;

namespace School.Web.Tests.Host;

internal static class IdleConnections
{
#pragma warning disable EF1001 // EF Core keeps a pool of its own, and offers no other way to it.
    /// <summary>Closes what the context's pool holds open, which a database that is dropped would break.</summary>
    public static void CloseIdleConnections(this DbContext db)
    {
        if (((INpgsqlRelationalConnection)db.GetService<IRelationalConnection>()).DataSource is NpgsqlDataSource source)
        {
            source.Clear();
        }
    }
#pragma warning restore EF1001
}
