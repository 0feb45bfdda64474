// Package table reads lists as shops write them.
package table
