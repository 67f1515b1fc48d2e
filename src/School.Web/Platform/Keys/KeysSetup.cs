using System.Security.Cryptography.X509Certificates;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.Extensions.Options;
using School.Web.Platform.Database;
using School.Web.Platform.LocalPostgres;
using School.Web.Platform.Security;

namespace School.Web.Platform.Keys;

/// <summary>Two kinds of keys, both in the database and wrapped by the key file: those of cookies and links, and those of guarded columns.</summary>
internal static class KeysSetup
{
    private const string CertificatePath = "DataProtection:CertificatePath";

    public static bool HasCertificate(IConfiguration configuration) => configuration[CertificatePath] is { Length: > 0 };

    public static void AddKeys(this IServiceCollection services, IConfiguration configuration, string connectionString)
    {
        services.AddSingleton<KeyFile>();
        services.AddSingleton(new KeysConnection(connectionString));
        services.AddSingleton(provider => new KeyRing(connectionString, provider.GetRequiredService<KeyFile>()));
        services.AddSingleton<KeyUpkeep>();
        services.AddScoped<Sealer>();
        services.AddScoped<SealedColumns>();
        services.AddHostedService<KeyUpkeepAtStart>();
        services.AddHealthChecks().AddCheck<KeysFit>("keys");
        var protection = services.AddDataProtection().SetApplicationName("School").PersistKeysToDbContext<SchoolDb>();
        services.AddSingleton<IConfigureOptions<KeyManagementOptions>>(provider => new ConfigureOptions<KeyManagementOptions>(
            options => options.XmlEncryptor = new CookieKeyEncryptor(provider.GetRequiredService<KeyRing>())));
        if (HasCertificate(configuration))
        {
            if (configuration[KeyFile.Setting] is null or "" && !LocalPostgresSetup.IsPrivate(configuration))
            {
                throw new CannotStartException(
                    "DataProtection:CertificatePath alone guards no keys any more. Set School:KeyFile too; the certificate then opens what it wrapped until it is wrapped anew.");
            }

            protection.UnprotectKeysWithAnyCertificate(X509CertificateLoader.LoadPkcs12FromFile(configuration[CertificatePath]!, configuration["DataProtection:Password"]));
        }
    }

    /// <summary>Names a column of sealed values.</summary>
    public static IServiceCollection AddSealedColumn(this IServiceCollection services, string table, string column, string where = "TRUE") =>
        services.AddSingleton(new SealedColumn(table, column, where));

    /// <summary>What <c>migrate</c> does for the keys: they are wrapped, and guarded columns are sealed with their own.</summary>
    public static async Task<KeysState> BringKeysUpToDateAsync(this IServiceProvider services, CancellationToken cancel)
    {
        var connectionString = services.GetRequiredService<KeysConnection>().String;
        var state = await services.GetRequiredService<KeyUpkeep>().RunAsync(connectionString, cancel);
        if (state.Are != KeysAre.Locked)
        {
            await services.GetRequiredService<SealedColumns>().SealAnewAsync(connectionString, cancel);
        }

        return state;
    }
}
