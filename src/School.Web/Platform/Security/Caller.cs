using System.Net;
using System.Net.Sockets;

namespace School.Web.Platform.Security;

/// <summary>Where a request comes from, as limits count it.</summary>
internal static class Caller
{
    private const int NetworkBytes = 8;

    /// <summary>
    /// The IPv4 address, or the network that an IPv6 address lies in: whoever has one has all 2⁶⁴ addresses of it (RFC 4291 section 2.5.4).
    /// Empty where there is no network between.
    /// </summary>
    public static string Network(this HttpContext context) => NetworkOf(context.Connection.RemoteIpAddress);

    internal static string NetworkOf(IPAddress? address)
    {
        if (address is null)
        {
            return "";
        }

        if (address.IsIPv4MappedToIPv6)
        {
            address = address.MapToIPv4();
        }

        if (address.AddressFamily != AddressFamily.InterNetworkV6)
        {
            return address.ToString();
        }

        var bytes = address.GetAddressBytes();
        bytes.AsSpan(NetworkBytes).Clear();
        return $"{new IPAddress(bytes)}/{NetworkBytes * 8}";
    }
}
